package charts

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
)

func TestCorrectedRatiosLieOnAnAxisOfDoublings(t *testing.T) {
	t.Parallel()
	a := tangles(t)
	angler, err := journal.FactorByKey("angler")
	if err != nil {
		t.Fatal(err)
	}
	a.Given = []analytics.Given{{Factor: angler}}
	a.Groups[1].Corrected = &analytics.Corrected{Ratio: ptr(1.5), Low: ptr(0.9), High: ptr(2.5)}
	c := Ratios(a, units.Metric, nil)
	axis := c.Option.XAxis[0]
	if axis.Type != "log" || axis.Min != 0.25 || axis.Max != 4.0 {
		t.Errorf("axis %s from %v to %v, want the powers of 2 round 0.4 and 2.5", axis.Type, axis.Min, axis.Max)
	}
	marks := c.Option.Series[1].Data.([]Mark)
	if len(marks) != 2 || len(c.Rows) != 3 {
		t.Fatalf("%d marks in %d rows; the group without a corrected ratio has a row and no mark", len(marks), len(c.Rows))
	}
	blood := marks[1].Value
	if *blood[0] != 1.5 || *blood[2] != 0.9 || *blood[3] != 2.5 || *blood[5] != 0.4 {
		t.Errorf("corrected ratio, interval and plain ratio: %v", blood)
	}
	if _, err := json.Marshal(c); err != nil {
		t.Error(err)
	}
}

func TestCurveIsInThePersonsUnits(t *testing.T) {
	t.Parallel()
	length, err := journal.FactorByKey("tag-length")
	if err != nil {
		t.Fatal(err)
	}
	a := analytics.CurveAnswer{Outcome: outcome(t, "tangles"), Over: length, Rug: []analytics.Rug{{At: 101.6, Exposure: 10}, {At: 203.2, Exposure: 30}}}
	for _, inches := range []float64{4, 6, 8} {
		a.Points = append(a.Points, analytics.CurvePoint{At: 25.4 * inches, Rate: inches / 10, Low: inches / 20, High: inches / 5, HasInterval: inches != 6})
		a.Best = append(a.Best, analytics.Chance{At: 25.4 * inches, Probability: 1. / 3})
	}
	c := Curve(a, units.US)
	points := c.Option.Series[0].Data.([]Mark)[0].Points
	const tol = 1e-12
	for i, inches := range []float64{4, 6, 8} { // 25.4 mm each: NIST SP 811
		if math.Abs(*points[i][0]-inches) > tol {
			t.Errorf("point %d at %g in, want %g", i, *points[i][0], inches)
		}
	}
	if points[1][2] != nil || points[2][3] == nil {
		t.Errorf("the band must have a gap where there is no interval: %v", points)
	}
	hours := 0.0
	for _, bar := range c.Option.Series[2].Data.([]Mark) {
		hours += *bar.Value[1]
	}
	if hours != 40 {
		t.Errorf("the bars hold %g hours, want 40", hours)
	}
	text, err := json.Marshal(c)
	if err != nil || strings.Contains(string(text), "NaN") {
		t.Errorf("%s, %v", text, err)
	}
}
