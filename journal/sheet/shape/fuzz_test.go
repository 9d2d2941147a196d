package shape_test

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rigtally/journal/exchange"
	"rigtally/journal/sheet/shape"
)

var whole = regexp.MustCompile(`^\d{1,6}$`)

func counted(cell string) int {
	if !whole.MatchString(strings.TrimSpace(cell)) {
		return 0
	}
	n, _ := strconv.Atoi(strings.TrimSpace(cell))
	return n
}

// counts are the keys of counts.
var counts = func() map[string]bool {
	keys := map[string]bool{"fish": true}
	for _, c := range exchange.Columns() {
		if c.Of != nil {
			keys[c.Key] = true
		}
	}
	return keys
}()

// Unfolding loses and doubles no number: what the columns of a count hold together is
// in the rows that come out, or in rows that are refused.
func FuzzUnfold(f *testing.F) {
	for _, s := range []string{
		"Date|Rig 1 knot|Rig 1 fish|Rig 2 knot|Rig 2 fish|Tangles\nd1|Blood|2|Fig 8|3|1\nd2|Blood|2|||1\nd3||||0|4",
		"Date|AM tangles|PM tangles|Fish\nd1|1|2|3\nd2|-|2|3\nd3|0|0|5",
		"Date|knot|fish|tangles|knot|fish|tangles\nd1|Blood|1|2|Fig 8|3|4\nd2||||Fig 8|3|4",
		"Date|Top dropper fish|Bottom dropper fish|Point fish|Tangles\nd1|1|2|3|4\nd2||2||4\nd3||||4\nd4|0|0|0|0",
		"Date|Dropper fly|Dropper tag|Dropper fish|Point fly|Point fish|Snags|Minutes\nd1|a|6|1|b|2|3|90",
		"Date|Rig 1 fish|Rig 2 fish|Fish\nd1|1|2|3\nd2|1|2|9",
		"|Rig 1||Rig 2||\nDate|Fish|Tangles|Fish|Tangles|Snags\nd1|1|2|3|4|5\nd2|1|2|0|0|5|6",
		"Date|Knot|Fish|Knot2|Fish2|Lost\nd1|Blood|1|Fig 8|2|\nd2|none|0|Fig 8|2|1",
		"Datum|Fische vormittags|Fische nachmittags\nd1|1|2",
		"Date|Fish 1|Fish 2|Tangles\nd1|1|2|3",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 2000 {
			return
		}
		rows := table(strings.Split(text, "\n")...)
		h, ok := shape.Find(rows, nil, toy, "date")
		for _, r := range rows {
			shape.Lists(h.Names, r, toy, func(s string) bool { return strings.Contains(s, "o") })
		}
		if !ok || h.Fold == nil {
			return
		}
		f := h.Fold
		taken := map[int]int{}
		for _, from := range f.From {
			for _, at := range from {
				if at >= 0 {
					taken[at]++
				}
			}
		}
		for at, n := range taken {
			if n > 1 {
				t.Fatalf("column %d is taken %d times: %+v", at, n, f)
			}
		}
		data := rows[h.After:]
		tab := f.Unfold(data)
		refused := map[int]bool{}
		for _, p := range tab.Problems {
			refused[p.Row] = true
			if p.What == "" || p.Remedy == "" || p.Row == 0 {
				t.Fatalf("%+v", p)
			}
		}
		for i, n := range tab.Names {
			if !counts[toy(n)] {
				continue
			}
			in, out := 0, 0
			for _, r := range data {
				for _, at := range f.From[i] {
					if at >= 0 && at < len(r.Cells) && !refused[r.Number] {
						in += counted(r.Cells[at])
					}
				}
			}
			for _, r := range tab.Rows {
				out += counted(r.Cells[i])
			}
			if in != out {
				t.Fatalf("%s: %d went in, %d came out of %q\n%s", n, in, out, text, lines(tab))
			}
		}
		for _, r := range tab.Rows {
			if refused[r.Number] || len(r.Cells) != len(tab.Names) {
				t.Fatalf("row %+v", r)
			}
		}
	})
}

// Gathering counts each event once, and refuses the stints of which it can't tell.
func FuzzGather(f *testing.F) {
	for _, s := range []string{
		"Date|Minutes|Knot|Event|Count\nd1|90|Blood|tangle|2\nd1|90|Blood|landed|\n|||snag|3\nd2|60|Blood|lunch|",
		"Date|Minutes|Position|Event\nd1|90|point|landed\nd1|90|dropper|tangle\nd1|80||snag",
		"Date|Event|Minutes lost\nd1|tangle|5\nd1|lost|\nd1|hooked|2 min",
		"Date|Minutes|Event\nd1|90|tangle\nd1|60|snag\nd1|60|snag",
		"Date|Event|Position\nd1|snag|'", // a place without a letter
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 2000 {
			return
		}
		rows := table(strings.Split(text, "\n")...)
		e, _ := shape.FindEvents(rows[0].Cells, rows[1:], toy, toyEvent)
		if e == nil {
			return
		}
		tab := e.Gather(rows[1:])
		refused := map[int]bool{}
		for _, p := range tab.Problems {
			if p.Row == 0 {
				return // the sheet as a whole
			}
			for _, n := range append(slices.Clone(p.With), p.Row) {
				refused[n] = true
			}
		}
		want, got := map[string]int{}, map[string]int{}
		for _, r := range rows[1:] {
			if refused[r.Number] || e.Column >= len(r.Cells) {
				continue
			}
			key, ok := toyEvent(r.Cells[e.Column])
			if !ok || key == "" {
				continue
			}
			n := 1
			if e.Count >= 0 && e.Count < len(r.Cells) && whole.MatchString(r.Cells[e.Count]) {
				n = counted(r.Cells[e.Count])
			}
			want[key] += n
			switch key {
			case "landed", "lost", "broke_off":
				want["hookups"] += n
			case "twists":
				want["tangles"] += n
			}
		}
		first := slices.IndexFunc(tab.Names, func(n string) bool { return counts[n] })
		for _, r := range tab.Rows {
			if len(r.Cells) != len(tab.Names) || refused[r.Number] {
				t.Fatalf("row %+v", r)
			}
			for i := first; first >= 0 && i < len(tab.Names); i++ {
				got[tab.Names[i]] += counted(r.Cells[i])
			}
		}
		for key, n := range want {
			if got[key] != n {
				t.Fatalf("%s: %d events, %d counted of %q: %s", key, n, got[key], text, fmt.Sprint(tab))
			}
		}
	})
}
