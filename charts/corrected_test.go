package charts

import (
	"math"
	"testing"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
)

func TestRatiosLikeForLikeLieOnAnAxisOfDoublings(t *testing.T) {
	t.Parallel()
	a := tangles(t)
	angler, err := journal.FactorByKey("angler")
	if err != nil {
		t.Fatal(err)
	}
	a.Given = []analytics.Given{{Factor: angler}}
	a.Groups[1].Corrected = &analytics.Corrected{Ratio: ptr(1.5), Low: ptr(0.9), High: ptr(2.5)}
	c := Ratios(a, units.Metric, nil)
	axis := c.Fields[0].X
	if !axis.Log || axis.From != 0.25 || axis.To != 4.0 {
		t.Errorf("axis %v from %v to %v, want the powers of 2 round 0.4 and 2.5", axis.Log, axis.From, axis.To)
	}
	marks := marks(t, c, Points)
	if len(marks) != 2 || len(rows(c)) != 3 {
		t.Fatalf("%d marks in %d rows; the group that can't be compared like for like has a row and no mark", len(marks), len(rows(c)))
	}
	if blood := marks[1]; blood.X != 1.5 || *blood.Across != (Span{0.9, 2.5}) || blood.Ring != 0.4 {
		t.Errorf("ratio like for like, interval and ratio as fished: %v", blood)
	}
	valid(t, "corrected", c)
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
		a.Best = append(a.Best, analytics.Chance{At: 25.4 * inches, Probability: new(1. / 3)})
	}
	c := Curve(a, units.US)
	points := marks(t, c, Line)
	const tol = 1e-12
	for i, inches := range []float64{4, 6, 8} { // 25.4 mm each: NIST SP 811
		if math.Abs(points[i].X-inches) > tol {
			t.Errorf("point %d at %g in, want %g", i, points[i].X, inches)
		}
	}
	if points[1].Upright != nil || points[2].Upright == nil {
		t.Errorf("the band must have a gap where there is no interval: %v", points)
	}
	hours := 0.0
	for _, bar := range marks(t, c, Bars) {
		hours += bar.Y
	}
	if hours != 40 {
		t.Errorf("the bars hold %g hours, want 40", hours)
	}
	valid(t, "curve", c)
}
