package charts

import (
	"regexp"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
)

// crossed is an answer made up for these tests: three junctions by two bulks, of
// which blood with legged flies was hardly fished and uni with slim never.
func crossed(t *testing.T) analytics.RateAnswer {
	a := analytics.RateAnswer{Outcome: outcome(t, "tangles"), By: by(t, "junction", "bulk"), Reference: 0}
	for _, g := range []struct {
		junction, bulk        string
		hours, rate, low, top float64
	}{
		{"figure-eight", "slim", 200, 0.50, 0.42, 0.58},
		{"figure-eight", "legged", 100, 1.00, 0.75, 1.30},
		{"blood", "slim", 60, 0.25, 0.10, 0.80},
		{"blood", "legged", 2, 0.50, 0.01, 3.00},
		{"uni", "legged", 50, 0.80, 0.60, 1.05},
	} {
		a.Groups = append(a.Groups, analytics.Group{Level: words(g.junction, g.bulk), Hours: g.hours, Exposure: g.hours, Events: g.hours * g.rate,
			Sessions: 20, Rate: g.rate, Low: g.low, High: g.top, HasInterval: true, Versus: &analytics.Comparison{Verdict: stat.CannotTell}})
	}
	a.Groups[0].Versus = nil
	return a
}

func TestHeatHasACellForEachPairFished(t *testing.T) {
	t.Parallel()
	a := crossed(t)
	c := Heat(a, units.US, func(g analytics.Group) string { return "/" + g.Level[0].Word + "/" + g.Level[1].Word })
	valid(t, "crossed", c)
	cells, columns := marks(t, c, Cells), c.Fields[0].X.Rows
	if len(cells) != 5 || len(rows(c)) != 3 || len(columns) != 2 || !c.Crossed {
		t.Fatalf("%d cells in %d rows and %d columns, want 5 in 3 and 2", len(cells), len(rows(c)), len(columns))
	}
	for i, g := range a.Groups {
		m := cells[i]
		column, row := columns[int(m.X)].Name, rows(c)[int(m.Y)].Name
		if row != g.Level[0].Word || column != g.Level[1].Word {
			t.Errorf("%s is at %s, %s", m.Name, row, column)
		}
		if m.Href != "/"+g.Level[0].Word+"/"+g.Level[1].Word || len(m.Detail) == 0 {
			t.Errorf("%s leads to %q and tells %v", m.Name, m.Href, m.Detail)
		}
		if want := g.Rate / 1; m.Heat != want { // the scale of these rates ends at 1
			t.Errorf("%s is at %g of the scale, want %g", m.Name, m.Heat, want)
		}
		if m.Share != g.Exposure/200 {
			t.Errorf("%s has %g of the most exposure", m.Name, m.Share)
		}
	}
}

// The highest is the deepest, and the most fished the largest.
func TestHeatIsDeepForMuchAndLargeForKnown(t *testing.T) {
	t.Parallel()
	c := Heat(crossed(t), units.US, nil)
	drawn := string(c.SVG(""))
	squares := regexp.MustCompile(`width="([\d.]+)" height="[\d.]+" fill="var\(--heat-(\d)[^>]*"/></svg>`).FindAllStringSubmatch(drawn, -1)
	if len(squares) != 5 {
		t.Fatalf("%d squares, want 5", len(squares))
	}
	for i, want := range []string{"34", "24.042", "18.623", "5", "17"} { // 34 px times the root of the share of 200 h, 5 at least
		if squares[i][1] != want {
			t.Errorf("square %d is %s px wide, want %s", i, squares[i][1], want)
		}
	}
	if squares[1][2] != "5" || squares[2][2] != "2" {
		t.Errorf("rates of 1 and 0.25 on a scale to 1 are in heat-%s and heat-%s, want 5 and 2", squares[1][2], squares[2][2])
	}
}

func TestHeatStandsTall(t *testing.T) {
	t.Parallel()
	a := crossed(t)
	a.By[0], a.By[1] = a.By[1], a.By[0]
	for i, g := range a.Groups {
		a.Groups[i].Level = words(g.Level[1].Word, g.Level[0].Word)
	}
	c := Heat(a, units.US, nil)
	down, right := c.Fields[0].Y, c.Fields[0].X
	if len(down.Rows) != 3 || len(right.Rows) != 2 || down.Title != "Junction" || right.Title != "Bulk" {
		t.Errorf("%d rows of %s, %d columns of %s: the longer list belongs to the side", len(down.Rows), down.Title, len(right.Rows), right.Title)
	}
}

// On a scale of ratios the reference lies in the middle, and half and twice lie
// equally far from it.
func TestHeatOfCorrectedRatios(t *testing.T) {
	t.Parallel()
	a := crossed(t)
	a.Given = []analytics.Given{{}}
	for i, ratio := range []float64{0, 2, 0.5, 4, 1} {
		if i > 0 {
			a.Groups[i].Versus.Ratio = ptr(ratio)
			a.Groups[i].Corrected = &analytics.Corrected{Ratio: ptr(ratio), Low: ptr(ratio / 1.2), High: ptr(ratio * 1.2)}
		}
	}
	c := Heat(a, units.US, nil)
	cells := marks(t, c, Cells)
	at := func(i int) float64 { return cells[i].Heat }
	if at(0) != 0.5 || at(4) != 0.5 || at(1)-0.5 != 0.5-at(2) || at(1) <= 0.5 || at(3) <= at(1) {
		t.Errorf("ratios 1, 2, 1/2, 4, 1 are at %g %g %g %g %g", at(0), at(1), at(2), at(3), at(4))
	}
	if first := c.Scale.Ticks[0].Text; first != "0.25" {
		t.Errorf("the scale begins at %s", first)
	}
}
