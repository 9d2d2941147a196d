package charts

import (
	"encoding/json"
	"math"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

func outcome(t *testing.T, key string) journal.Outcome {
	t.Helper()
	o, err := journal.OutcomeByKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func by(t *testing.T, keys ...string) []journal.By {
	t.Helper()
	var list []journal.By
	for _, key := range keys {
		f, err := journal.FactorByKey(key)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, journal.By{Factor: f})
	}
	return list
}

func words(list ...string) []journal.Level {
	var levels []journal.Level
	for _, w := range list {
		levels = append(levels, journal.Level{Kind: journal.WordLevel, Word: w})
	}
	return levels
}

func ptr(v float64) *float64 { return &v }

// tangles is an answer made up for these tests: three junctions, the last
// hardly fished.
func tangles(t *testing.T) analytics.RateAnswer {
	return analytics.RateAnswer{
		Outcome:   outcome(t, "tangles"),
		By:        by(t, "junction"),
		Reference: 0,
		Groups: []analytics.Group{
			{Level: words("figure-eight"), Stints: 60, Sessions: 40, Hours: 100, Exposure: 100, Events: 50, Dispersion: 1, Rate: 0.5, Low: 0.37, High: 0.66, HasInterval: true},
			{Level: words("blood"), Stints: 30, Sessions: 20, Hours: 50, Exposure: 50, Events: 10, Dispersion: 1, Rate: 0.2, Low: 0.1, High: 0.37, HasInterval: true,
				Versus: &analytics.Comparison{Ratio: ptr(0.4), Low: ptr(0.2), High: ptr(0.8), P: ptr(0.01), Q: ptr(0.02), Verdict: stat.Differs}},
			{Level: words("uni"), Stints: 1, Sessions: 1, Hours: 1, Exposure: 1, Events: 0, Dispersion: 1, Rate: 0, Low: 0, High: 3.69, HasInterval: true,
				Versus: &analytics.Comparison{Verdict: stat.CannotTell}},
		},
	}
}

// series returns the marks of the series with an id.
func series(t *testing.T, c Chart, id string) []Mark {
	t.Helper()
	for _, s := range c.Option.Series {
		if s.Id == id {
			return s.Data.([]Mark)
		}
	}
	t.Fatalf("the chart has no series %q", id)
	return nil
}

func TestRatesDrawsEachGroup(t *testing.T) {
	t.Parallel()
	a := tangles(t)
	c := Rates(a, units.US, func(g analytics.Group) string { return "/" + g.Level[0].Word })
	marks := series(t, c, ShapeInterval)
	if len(marks) != 3 || len(c.Rows) != 3 {
		t.Fatalf("%d marks on %d rows, want 3 on 3", len(marks), len(c.Rows))
	}
	for i, g := range a.Groups {
		m := marks[i]
		if *m.Value[0] != g.Rate || *m.Value[1] != float64(i) || *m.Value[2] != g.Low || *m.Value[3] != g.High {
			t.Errorf("%s: value %v does not hold the group's numbers", m.Name, m.Value)
		}
		if m.Name != g.Level[0].Word || m.Href != "/"+m.Name || c.Rows[i].Name != m.Name {
			t.Errorf("row %d is %q leading to %q, labelled %q", i, m.Name, m.Href, c.Rows[i].Name)
		}
	}
	for i, want := range []string{LookReference, LookDiffers, LookOpen} {
		if marks[i].Look != want {
			t.Errorf("%s looks %q, want %q", marks[i].Name, marks[i].Look, want)
		}
	}
	if marks[0].Note != "100 h" || *marks[0].Share != 1 || *marks[1].Share != 0.5 || c.Behind != "Hours" {
		t.Errorf("exposure of the first rows is %q and %g, %g under %q", marks[0].Note, *marks[0].Share, *marks[1].Share, c.Behind)
	}
}

// Pointing at a mark must show counts, hours and interval, as the table does.
func TestDetailHasWhatTheTableHas(t *testing.T) {
	t.Parallel()
	m := series(t, Rates(tangles(t), units.US, nil), ShapeInterval)[1]
	got := map[string]string{}
	for _, pair := range m.Detail {
		if _, twice := got[pair[0]]; !twice {
			got[pair[0]] = pair[1]
		}
	}
	for heading, want := range map[string]string{"Tangles": "10", "Hours": "50", "Sessions": "20", "95% interval": "0.100–0.370", "Times figure-eight": "0.40", "Verdict": "differs"} {
		if got[heading] != want {
			t.Errorf("%s: %q, want %q", heading, got[heading], want)
		}
	}
}

// An hour of fishing must not squeeze a season's groups flat.
func TestAxisFollowsWellKnownGroups(t *testing.T) {
	t.Parallel()
	c := Rates(tangles(t), units.US, nil)
	if end := c.Option.XAxis[0].Max.(float64); end < 0.66 || end > 1 {
		t.Errorf("the axis ends at %g; the well-known intervals end at 0.66 and the hardly fished one at 3.69", end)
	}
}

func TestAxisReachesAndDivides(t *testing.T) {
	t.Parallel()
	for _, axes := range [][]axis{rateAxes, exposureAxes} {
		for _, v := range []float64{0, 0.0004, 0.011, 0.52, 0.999, 1, 1.01, 7.3, 9.99, 10, 236.2, 100_001} {
			a := reaching(v, axes)
			if steps := a.end / a.step; a.end < v || math.Abs(steps-math.Round(steps)) > 1e-9 {
				t.Errorf("an axis for %g ends at %g with ticks each %g", v, a.end, a.step)
			}
			if v > 0 && a.end > 2*v+1e-9 {
				t.Errorf("an axis for %g ends at %g, leaving half of it empty", v, a.end)
			}
		}
	}
}

func TestTwoFactorsStandUnderHeadings(t *testing.T) {
	t.Parallel()
	a := tangles(t)
	a.By = by(t, "junction", "bulk")
	a.Groups[0].Level, a.Groups[1].Level, a.Groups[2].Level = words("blood", "slim"), words("blood", "legged"), words("uni", "slim")
	c := Rates(a, units.US, nil)
	want := []Row{{Name: "blood", Heading: true}, {Name: "slim"}, {Name: "legged"}, {Name: "uni", Heading: true}, {Name: "slim"}}
	if len(c.Rows) != len(want) {
		t.Fatalf("rows %v", c.Rows)
	}
	for i := range want {
		if c.Rows[i] != want[i] {
			t.Errorf("row %d is %v, want %v", i, c.Rows[i], want[i])
		}
	}
	if row := *series(t, c, ShapeInterval)[2].Value[1]; row != 4 {
		t.Errorf("the last group is on row %g, want 4", row)
	}
}

func TestSharesAreInPercent(t *testing.T) {
	t.Parallel()
	a := tangles(t)
	a.Outcome = outcome(t, "foul-hook")
	c := Rates(a, units.US, nil)
	m := series(t, c, ShapeInterval)[1]
	if *m.Value[0] != 20 || m.Label != "20%" || c.Option.XAxis[0].AxisLabel.Formatter != "{value}%" {
		t.Errorf("20%% is drawn at %g with label %q and ticks %q", *m.Value[0], m.Label, c.Option.XAxis[0].AxisLabel.Formatter)
	}
}

// overLength is tangles by tag length, at 6 in and 6 1/2 in and from 7 in.
// 1 in is exactly 25.4 mm (NIST SP 811, appendix B.8).
func overLength(t *testing.T) analytics.RateAnswer {
	a := tangles(t)
	a.By = by(t, "tag-length")
	for i, mm := range []float64{152.4, 165.1, 177.8} {
		a.Groups[i].Level = []journal.Level{{Kind: journal.NumberLevel, Number: mm}}
	}
	return a
}

func TestOverLengthInThePersonsUnit(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		sys   units.System
		at    []float64
		title string
	}{
		{units.US, []float64{6, 6.5, 7}, "Tag length (in)"},
		{units.Metric, []float64{152.4, 165.1, 177.8}, "Tag length (mm)"},
	} {
		c := OverLength(overLength(t), tt.sys, nil)
		marks, bars := series(t, c, ShapePoint), series(t, c, ShapeBars)
		for i, want := range tt.at {
			if got := *marks[i].Value[0]; math.Abs(got-want) > 1e-9 {
				t.Errorf("%s: length %d is drawn at %g, want %g", tt.sys, i, got, want)
			}
		}
		if *bars[0].Value[1] != 100 || bars[0].Label != "100 h" {
			t.Errorf("%s: the bar of 100 hours is %g high and says %q", tt.sys, *bars[0].Value[1], bars[0].Label)
		}
		if got := c.Option.XAxis[1].Name; got != tt.title {
			t.Errorf("the axis is called %q, want %q", got, tt.title)
		}
	}
}

func TestOpenBandsGetTheWidthOfABand(t *testing.T) {
	t.Parallel()
	a := overLength(t)
	a.Groups[0].Level[0] = journal.Level{Kind: journal.BelowLevel, Upper: 100}
	a.Groups[1].Level[0] = journal.Level{Kind: journal.BandLevel, Number: 100, Upper: 125}
	a.Groups[2].Level[0] = journal.Level{Kind: journal.AboveLevel, Number: 125}
	marks := series(t, OverLength(a, units.Metric, nil), ShapeBand)
	for i, want := range [][2]float64{{75, 100}, {100, 125}, {125, 150}} {
		if from, to := *marks[i].Value[5], *marks[i].Value[6]; from != want[0] || to != want[1] {
			t.Errorf("band %d reaches from %g to %g, want %v", i, from, to, want)
		}
	}
}

// Whatever an answer lacks, its chart must be JSON.
func TestChartsOfPoorAnswersAreJSON(t *testing.T) {
	t.Parallel()
	empty := tangles(t)
	empty.Groups, empty.Reference = nil, -1
	alone := tangles(t)
	alone.Groups = alone.Groups[:1]
	endless := tangles(t)
	endless.Groups[2].High = math.Inf(1)
	bare := overLength(t)
	bare.Groups[0].HasInterval = false
	for name, c := range map[string]Chart{
		"empty": Rates(empty, units.US, nil), "alone": Rates(alone, units.US, nil), "endless": Rates(endless, units.US, nil),
		"bare": OverLength(bare, units.US, nil),
	} {
		if _, err := json.Marshal(c); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if key := Rates(alone, units.US, nil).Key; key != nil {
		t.Errorf("a single group needs no key, got %v", key)
	}
}

// A chart of more rows than anyone reads keeps to those with the most exposure.
func TestManyGroups(t *testing.T) {
	t.Parallel()
	a := tangles(t)
	a.By = by(t, "rig")
	a.Reference = -1
	a.Groups = nil
	for i := range 60 {
		a.Groups = append(a.Groups, analytics.Group{Level: words(string(rune('A' + i))), Stints: 1, Sessions: 1, Exposure: float64(1 + (i*7)%60), Rate: 1})
	}
	c := Rates(a, units.US, nil)
	marks := series(t, c, ShapeInterval)
	if c.Drawn != 40 || len(marks) != 40 {
		t.Fatalf("%d marks, said to be %d, want 40", len(marks), c.Drawn)
	}
	for i, m := range marks {
		if i > 0 && m.Name <= marks[i-1].Name {
			t.Errorf("%s stands after %s", m.Name, marks[i-1].Name)
		}
	}
	if first := marks[0].Name; first != "D" { // A, B and C have 1, 8 and 15 hours, D has 22; the 40 most are those from 21
		t.Errorf("the first is %s", first)
	}
}
