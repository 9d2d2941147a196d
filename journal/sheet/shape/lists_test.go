package shape_test

import (
	"slices"
	"strings"
	"testing"

	"rigtally/journal/sheet/shape"
)

func TestLists(t *testing.T) {
	isKnot := func(s string) bool {
		return slices.Contains([]string{"fig 8", "blood", "double surgeon's", "loop", "nonslip loop/perfection"}, strings.ToLower(s))
	}
	names := strings.Split("Date|Knot|Minutes|Tag|Tangles|Start|Fly|Notes|Score", "|")
	for _, c := range []struct {
		cell   string
		header string
		list   bool
	}{
		{"fig 8, blood", "Knot", true}, {"fig 8/blood", "Knot", true}, {"Fig 8 & Blood", "Knot", true}, {"fig 8 and blood", "Knot", true}, {"fig 8\nblood", "Knot", true}, {"fig 8; blood; loop", "Knot", true},
		{"fig 8", "Knot", false}, {"blood, wet", "Knot", false}, {"nonslip loop/perfection", "Knot", false}, {"Orvis, tied twice", "Knot", false}, {"-", "Knot", false},
		{"90/60", "Minutes", true}, {"90, 60", "Minutes", true}, {"90 + 60", "Minutes", true}, {"90+60", "Minutes", true}, {"90;60", "Minutes", true}, {"1h30 / 45 min", "Minutes", true}, {"1h30/45min", "Minutes", true}, {"90 and 60", "Minutes", true},
		{"90", "Minutes", false}, {"1h30", "Minutes", false}, {"1:30", "Minutes", false}, {"1,5 h", "Minutes", false}, {"1.5", "Minutes", false}, {"60-90", "Minutes", false}, {"1/2 h", "Minutes", false}, {"1 1/2 h", "Minutes", false},
		{"6in; 8in", "Tag", true}, {"6in, 8in", "Tag", true}, {"6in,8in", "Tag", true}, {`6" / 8"`, "Tag", true}, {"165 mm & 200 mm", "Tag", true}, {"6 and 8", "Tag", true}, {"150/200", "Tag", true},
		{`6 1/2"`, "Tag", false}, {"3/4", "Tag", true}, {"3/4 in", "Tag", false}, {"6.5in", "Tag", false}, {"16,5 cm", "Tag", false}, {"6-8", "Tag", false}, {"9' 6\"", "Tag", false},
		{"3/2", "Tangles", true}, {"1, 2", "Tangles", true}, {"2;1", "Tangles", true}, {"2+1", "Tangles", true}, {"3 | 1", "Tangles", true},
		{"3", "Tangles", false}, {"1,020", "Tangles", false}, {"?", "Tangles", false}, {"none", "Tangles", false}, {"2-3", "Tangles", false},
		{"6:30, 14:00", "Start", true}, {"6:30 / 14:00", "Start", true}, {"6:30", "Start", false},
		{"Perdigon, PTN", "Fly", false}, {"6 fish, 2 lost", "Notes", false}, {"3/4", "Score", false}, {"2025-04-05", "Date", false},
	} {
		cells := make([]string, len(names))
		for i, n := range names {
			if n == c.header {
				cells[i] = c.cell
			}
		}
		got := shape.Lists(names, shape.Row{Number: 7, Cells: cells}, toy, isKnot)
		if (len(got) > 0) != c.list || len(got) > 0 && (got[0].Row != 7 || got[0].Header != c.header || got[0].Remedy == "") {
			t.Errorf("%s %q: %v", c.header, c.cell, got)
		}
	}
	if got := shape.Lists(names, shape.Row{Number: 2, Cells: []string{"d1", "fig 8, blood", "90/60", "6in; 8in", "1/0"}}, toy, isKnot); len(got) != 4 {
		t.Errorf("%v", got)
	}
}
