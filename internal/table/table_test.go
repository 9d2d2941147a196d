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

// Whatever the width, no line is longer, no word is broken and nothing is left out.
func TestTextKeepsToTheWidth(t *testing.T) {
	t.Parallel()
	for width := 20; width <= 80; width++ {
		var b strings.Builder
		if err := knots().WriteText(&b, width); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > width {
				t.Errorf("a line of %d within %d: %q", n, width, line)
			}
		}
		for _, word := range []string{"Junction", "double", "surgeon's", "0.25–0.33", "interval", "Stints", "16"} {
			if !strings.Contains(b.String(), word) {
				t.Errorf("within %d %q is lost:\n%s", width, word, b.String())
			}
		}
	}
}

// What has a column to stand below goes there first; then what can be spared follows the row.
func TestTextGivesWay(t *testing.T) {
	t.Parallel()
	for width, want := range map[int]string{
		40: "Junction          Stints      Per hour\n                          95% interval\nblood                  5          0.33\n                             0.25–0.33\n" +
			"double surgeon's      16          0.33\n                             0.25–0.33\n",
		30: "Junction              Per hour\n                  95% interval\nblood                     0.33\n                     0.25–0.33\n  Stints: 5\n" +
			"double surgeon's          0.33\n                     0.25–0.33\n  Stints: 16\n",
	} {
		var b strings.Builder
		if err := knots().WriteText(&b, width); err != nil || b.String() != want {
			t.Errorf("%v, within %d\n%swant\n%s", err, width, b.String(), want)
		}
	}
}

// A word longer than all there is room for is broken rather than the width; a number keeps its unit beside it.
func TestTextBreaksOnlyWhatCannotFit(t *testing.T) {
	t.Parallel()
	var b strings.Builder
	long := strings.Repeat("long", 20)
	if err := Words("", 2, []string{"Water", "Tag"}, [][]string{{long, "cut to 6 1/2 in by noon"}}).WriteText(&b, 30); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > 30 {
			t.Errorf("a line of %d: %q", n, line)
		}
	}
	if !strings.Contains(b.String(), "6 1/2 in") || strings.Count(b.String(), "long") < 15 {
		t.Error(b.String())
	}
}

func TestFoldLines(t *testing.T) {
	t.Parallel()
	got := FoldLines("  stint 1  blood, facing down, 6 1/2 in of 6X; 2 landed\nno more\n", 30)
	want := "  stint 1  blood, facing down,\n           6 1/2 in of 6X; 2\n           landed\nno more\n"
	if got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	if got := FoldLines("see https://journal.example.org/join/abcdefgh", 20); !strings.Contains(got, "https://journal.example.org/join/abcdefgh") {
		t.Error(got)
	}
}

func TestTextLinesUp(t *testing.T) {
	var b strings.Builder
	if err := knots().WriteText(&b, 0); err != nil {
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
