package charts

import (
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/bench"
	"rigtally/analytics/claim"
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
				Versus:    &analytics.Comparison{Ratio: ptr(0.4), Low: ptr(0.2), High: ptr(0.8), P: ptr(0.01), Q: ptr(0.02), Verdict: stat.Differs},
				Corrected: &analytics.Corrected{Ratio: ptr(0.5), Low: ptr(0.3), High: ptr(0.9)}},
			{Level: words("uni"), Stints: 1, Sessions: 1, Hours: 1, Exposure: 1, Events: 0, Dispersion: 1, Rate: 0, Low: 0, High: 3.69, HasInterval: true,
				Versus: &analytics.Comparison{Verdict: stat.CannotTell}},
		},
	}
}

// layer returns the first layer of a shape.
func layer(t *testing.T, c Chart, shape Shape) Layer {
	t.Helper()
	for _, f := range c.Fields {
		for _, l := range f.Layers {
			if l.Shape == shape {
				return l
			}
		}
	}
	t.Fatalf("the chart has no %s", shape)
	return Layer{}
}

func marks(t *testing.T, c Chart, shape Shape) []Mark { t.Helper(); return layer(t, c, shape).Marks }

func rows(c Chart) []Row { return c.Fields[0].Y.Rows }

func TestRatesDrawsEachGroup(t *testing.T) {
	t.Parallel()
	a := tangles(t)
	c := Rates(a, units.US, func(g analytics.Group) string { return "/" + g.Level[0].Word })
	marks := marks(t, c, Points)
	if len(marks) != 3 || len(rows(c)) != 3 {
		t.Fatalf("%d marks on %d rows, want 3 on 3", len(marks), len(rows(c)))
	}
	for i, g := range a.Groups {
		m := marks[i]
		if m.X != g.Rate || m.Y != float64(i) || *m.Across != (Span{g.Low, g.High}) {
			t.Errorf("%s: %v in %v does not hold the group's numbers", m.Name, m.X, m.Across)
		}
		if row := rows(c)[i]; m.Name != g.Level[0].Word || m.Href != "/"+m.Name || row.Name != m.Name || row.Value != m.Label {
			t.Errorf("row %d is %q leading to %q, labelled %v", i, m.Name, m.Href, row)
		}
	}
	for i, want := range []string{LookReference, LookDiffers, LookOpen} {
		if marks[i].Look != want {
			t.Errorf("%s looks %q, want %q", marks[i].Name, marks[i].Look, want)
		}
	}
	if marks[0].Note != "100 h" || marks[0].Share != 1 || marks[1].Share != 0.5 || c.Behind != "Hours" {
		t.Errorf("exposure of the first rows is %q and %g, %g under %q", marks[0].Note, marks[0].Share, marks[1].Share, c.Behind)
	}
}

// Pointing at a mark must show counts, hours and interval, as the table does.
func TestDetailHasWhatTheTableHas(t *testing.T) {
	t.Parallel()
	m := marks(t, Rates(tangles(t), units.US, nil), Points)[1]
	got := map[string]string{}
	for _, pair := range m.Detail {
		if _, twice := got[pair[0]]; !twice {
			got[pair[0]] = pair[1]
		}
	}
	for heading, want := range map[string]string{"Tangles": "10", "Hours": "50", "Sessions": "20", "95% interval": "0.100–0.370", "Times": "0.50", "As fished": "0.40", "Verdict": "differs"} {
		if got[heading] != want {
			t.Errorf("%s: %q, want %q", heading, got[heading], want)
		}
	}
}

// An hour of fishing must not squeeze a season's groups flat.
func TestAxisFollowsWellKnownGroups(t *testing.T) {
	t.Parallel()
	c := Rates(tangles(t), units.US, nil)
	if end := c.Fields[0].X.To; end < 0.66 || end > 1 {
		t.Errorf("the axis ends at %g; the well-known intervals end at 0.66 and the hardly fished one at 3.69", end)
	}
}

// A minute with one tangle in it, an interval without a limit, two pulls far apart: nothing that is
// hardly known squeezes the rest of a chart flat, and no tick is long.
func TestOneWildWhiskerSquashesNothing(t *testing.T) {
	t.Parallel()
	minute, wild, few := tangles(t), tangles(t), tangles(t)
	minute.Groups[2].Exposure, minute.Groups[2].Events, minute.Groups[2].Rate, minute.Groups[2].Low, minute.Groups[2].High = 1./60, 1, 60, 1.5, 334
	wild.Groups[1].High = 4.3e42
	for i := range few.Groups { // no events in minutes
		g := &few.Groups[i]
		g.Exposure, g.Events, g.Rate, g.Low, g.High, g.Versus = 0.1, 0, 0, 0, 36.9, nil
	}
	few.Groups[1].High = 4.3e42
	apart := bench.Group{N: 2, Mean: 10, MeanLow: ptr(-117.0), MeanHigh: ptr(137.0), Level: words("uni"), Points: []bench.Point{{Strength: 9, ForceN: 9}, {Strength: 11, ForceN: 11}}}
	pulls := Dots(bench.Answer{By: []journal.Factor{by(t, "junction")[0].Factor}, Groups: []bench.Group{apart}}, units.Metric, nil)
	ratios := tangles(t)
	ratios.Given = []analytics.Given{{}}
	ratios.Groups[1].Corrected = &analytics.Corrected{Ratio: ptr(0.4), Low: ptr(1e-12), High: ptr(1e40)}
	for name, tt := range map[string]struct {
		chart Chart
		most  float64
	}{"minute": {Rates(minute, units.US, nil), 2}, "wild": {Rates(wild, units.US, nil), 2}, "few": {Rates(few, units.US, nil), 40}, "pulls": {pulls, 20}, "ratios": {Ratios(ratios, units.US, nil), 16}} {
		x := tt.chart.Fields[0].X
		if x.To > tt.most {
			t.Errorf("%s: the axis reaches %g, wanted %g at most", name, x.To, tt.most)
		}
		for _, tick := range x.Ticks {
			if len(tick.Text) > 4 {
				t.Errorf("%s: a tick says %q", name, tick.Text)
			}
		}
		valid(t, name, tt.chart)
	}
}

func TestAxisReachesAndDivides(t *testing.T) {
	t.Parallel()
	for _, axes := range [][]reach{rateAxes, exposureAxes} {
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
	if len(rows(c)) != len(want) {
		t.Fatalf("rows %v", rows(c))
	}
	for i := range want {
		if got := rows(c)[i]; got.Name != want[i].Name || got.Heading != want[i].Heading {
			t.Errorf("row %d is %v, want %v", i, got, want[i])
		}
	}
	if row := marks(t, c, Points)[2].Y; row != 4 {
		t.Errorf("the last group is on row %g, want 4", row)
	}
}

func TestSharesAreInPercent(t *testing.T) {
	t.Parallel()
	a := tangles(t)
	a.Outcome = outcome(t, "foul-hook")
	c := Rates(a, units.US, nil)
	m, ticks := marks(t, c, Points)[1], c.Fields[0].X.Ticks
	if m.X != 20 || m.Label != "20%" || ticks[0].Text != "0%" {
		t.Errorf("20%% is drawn at %g with label %q and ticks %v", m.X, m.Label, ticks)
	}
}

// overLength is tangles by tag length, at 6 in and 6½ in and from 7 in.
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
		marks, bars := marks(t, c, Points), marks(t, c, Bars)
		for i, want := range tt.at {
			if got := marks[i].X; math.Abs(got-want) > 1e-9 {
				t.Errorf("%s: length %d is drawn at %g, want %g", tt.sys, i, got, want)
			}
		}
		if bars[0].Y != 100 || bars[0].Label != "100 h" {
			t.Errorf("%s: the bar of 100 hours is %g high and says %q", tt.sys, bars[0].Y, bars[0].Label)
		}
		if got := c.Fields[0].X.Title; got != tt.title {
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
	marks := marks(t, OverLength(a, units.Metric, nil), Points)
	for i, want := range []Span{{75, 100}, {100, 125}, {125, 150}} {
		if *marks[i].Wide != want {
			t.Errorf("band %d reaches over %v, want %v", i, *marks[i].Wide, want)
		}
	}
}

// valid checks that the drawing of a chart is XML without what is no number.
func valid(t *testing.T, name string, c Chart) {
	t.Helper()
	for _, drawn := range []string{string(c.SVG("Spoken <of>")), c.File("Title", "Spoken")} {
		if strings.Contains(drawn, "NaN") || strings.Contains(drawn, "Inf") || strings.Contains(drawn, "%!") {
			t.Errorf("%s: not every number is one: %s", name, drawn)
		}
		d := xml.NewDecoder(strings.NewReader("<figure>" + drawn + "</figure>"))
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v in %s", name, err, drawn)
			}
		}
	}
}

// Whatever an answer lacks, its chart must be a drawing.
func TestChartsOfPoorAnswersAreDrawn(t *testing.T) {
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
		valid(t, name, c)
	}
	if key := Rates(alone, units.US, nil).Key; key != nil {
		t.Errorf("a single group needs no key, got %v", key)
	}
}

// A chart of more rows than anyone reads keeps to those with the most exposure, and to what they are compared with.
func TestManyGroups(t *testing.T) {
	t.Parallel()
	a := tangles(t)
	a.By = by(t, "rig")
	a.Reference, a.Bet = 0, nil
	a.Groups = nil
	for i := range 60 {
		a.Groups = append(a.Groups, analytics.Group{Level: words(string(rune('A' + i))), Stints: 1, Sessions: 1, Exposure: float64(1 + (i*7)%60), Rate: 1})
	}
	c := Rates(a, units.US, nil)
	marks := marks(t, c, Points)
	if c.Drawn != 10 || len(marks) != 10 {
		t.Fatalf("%d marks, said to be %d, want 10", len(marks), c.Drawn)
	}
	for i, m := range marks {
		if i > 0 && m.Name <= marks[i-1].Name {
			t.Errorf("%s stands after %s", m.Name, marks[i-1].Name)
		}
	}
	if first := marks[0].Name; first != "A" { // the reference, though it has 1 hour; of the others those from 52 follow, G with 43 not among them
		t.Errorf("the first is %s", first)
	}
}

// A claim by itself lies on the scale of the whole board, over its own side.
func TestClaimsShareAScale(t *testing.T) {
	t.Parallel()
	answer := func(ratio, low, high float64) claim.Answer {
		return claim.Answer{Ratio: &ratio, Low: &low, High: &high, Standing: claim.Holds}
	}
	list := Claims(claim.Board{Claims: []claim.Answer{answer(0.5, 0.3, 0.9), {}, answer(9, 2, 40), answer(1.1, 0.9, 1.3), answer(1, 0.8, 1.2), answer(1, 0.7, 1.5)}})
	if list[1] != nil {
		t.Error("a claim without a ratio is drawn")
	}
	for i, c := range list {
		if i == 1 {
			continue
		}
		valid(t, "claim", *c)
		if x := c.Fields[0].X; x.From != 0.25 || x.To != 4 {
			t.Errorf("claim %d lies between %g and %g", i, x.From, x.To)
		}
	}
	if drawn := string(list[2].SVG("")); strings.Contains(drawn, "<circle") || !strings.Contains(drawn, "M0 -6L9 0L0 6Z") {
		t.Errorf("a ratio beyond the scale: %s", drawn)
	}
}
