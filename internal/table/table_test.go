package table

import (
	"encoding/csv"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// knots are invented.
func knots() Table {
	low, high := 0.25, 1.0/3
	var c Columns[string]
	c.Words("junction", "Junction", func(s string) string { return s })
	c.Count("stints", "Stints", func(s string) int { return len(s) }).Spare = 1
	c.Number("rate", "Per hour", func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }, func(string) *float64 { return &high })
	c.Said("interval", "95% interval", func(string) string { return "0.25–0.33" }).Below = "rate"
	c.Value("low", func(s string) *float64 {
		if s == "blood" {
			return nil
		}
		return &low
	})
	t := c.Make([]string{"blood", "double surgeon's"})
	t.OnPage = []string{"junction", "rate", "stints"}
	return t
}

func TestCSVIsReadBackWhole(t *testing.T) {
	var b strings.Builder
	if err := knots().WriteCSV(&b); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{{"junction", "stints", "rate", "low"}, {"blood", "5", "0.3333333333333333", ""}, {"double surgeon's", "16", "0.3333333333333333", "0.25"}}
	for i := range want {
		if strings.Join(rows[i], "|") != strings.Join(want[i], "|") {
			t.Errorf("row %d is %q, want %q", i, rows[i], want[i])
		}
	}
}

func TestTextKeepsToTheWidth(t *testing.T) {
	for width := 26; width <= 80; width++ {
		var b strings.Builder
		away, err := knots().WriteText(&b, width)
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > width {
				t.Errorf("a line of %d within %d: %q", n, width, line)
			}
		}
		for _, word := range []string{"Junction", "double", "surgeon's", "0.25–0.33", "interval"} {
			if !strings.Contains(b.String(), word) {
				t.Errorf("within %d %q is broken:\n%s", width, word, b.String())
			}
		}
		if gone := !strings.Contains(b.String(), "Stints"); gone != (len(away) == 1) {
			t.Errorf("within %d %q are left away of:\n%s", width, away, b.String())
		}
	}
}

func TestTextLinesUp(t *testing.T) {
	var b strings.Builder
	if _, err := knots().WriteText(&b, 0); err != nil {
		t.Fatal(err)
	}
	want := "Junction          Stints  Per hour  95% interval\nblood                  5      0.33     0.25–0.33\ndouble surgeon's      16      0.33     0.25–0.33\n"
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
}

func TestStackPutsIntervalsBelow(t *testing.T) {
	p := knots().Stack()
	if len(p.Head) != 3 || p.Head[1].Under != "95% interval" || p.Rows[0].Cells[1] != (Stacked{Text: "0.33", Under: "0.25–0.33"}) || p.Rows[1].Cells[2].Text != "16" {
		t.Errorf("got %+v", p)
	}
}

// Of many rows those with most stand first, in their order; a few more are not put behind a tap.
func TestStackFirstPutsTheLeastBehind(t *testing.T) {
	var c Columns[int]
	c.Count("n", "N", func(n int) int { return n })
	rows := func(n int) Page {
		list := make([]int, n)
		for i := range list {
			list[i] = i
		}
		return c.Make(list).StackFirst(func(i int) float64 { return float64(i % 16) })
	}
	p := rows(17) // 0 and 16 have least
	if len(p.Rows) != 10 || p.Rows[0].Cells[0].Text != "6" || p.Rows[9].Cells[0].Text != "15" || len(p.Rest.Rows) != 7 || p.Rest.Rows[6].Cells[0].Text != "16" || len(p.Rest.Phone) != 7 {
		t.Errorf("of 17 rows: %+v", p)
	}
	if p := rows(14); len(p.Rows) != 14 || p.Rest != nil {
		t.Errorf("of 14 rows: %+v", p)
	}
}

func TestDetailLeavesOutLeadingWords(t *testing.T) {
	got := knots().Detail(0)
	if len(got) != 3 || got[0] != (Pair{"Stints", "5"}) || got[2] != (Pair{"95% interval", "0.25–0.33"}) {
		t.Errorf("got %v", got)
	}
}
