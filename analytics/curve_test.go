package analytics_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
	"rigtally/analytics/stat/published"
	"rigtally/internal/units"
	"rigtally/journal/pg"
)

func curve(t *testing.T, s *pg.Store, r analytics.CurveRequest) analytics.CurveAnswer {
	t.Helper()
	if r.Units == "" {
		r.Units = units.Metric
	}
	a, err := analytics.Curve(context.Background(), s, r)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// none says that nothing is given where a list is empty.
func none(given []string) []string {
	if len(given) == 0 {
		return []string{analytics.NoGiven}
	}
	return given
}

// Every case goes through the whole of the journal and must come out of the marginal fit as R's
// glm with splines::ns and sandwich's vcovCL has it.
func TestCurvesAgreeWithR(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[publishedCase](t, "curves.json")
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			s := fixture.Open(t)
			c.Data.store(t, s, c.Data.inOrder())
			texts := func(values []float64) (list []string) {
				for _, v := range values {
					list = append(list, fmt.Sprint(v))
				}
				return list
			}
			// In US units too, bare knots are mm, and 5 in is 127 mm.
			a := curve(t, s, analytics.CurveRequest{Outcome: c.Outcome, Given: none(c.Given), Model: "marginal", Knots: texts(c.Knots), Boundary: texts(c.Boundary)})
			if len(a.Points) != len(c.Expected.Rate) || a.Points[0].At != 90 {
				t.Fatalf("%d points from %g, want %d from 90", len(a.Points), a.Points[0].At, len(c.Expected.Rate))
			}
			for i, p := range a.Points {
				agree(t, fmt.Sprintf("rate at %g", p.At), &p.Rate, c.Expected.Rate[i], tol)
				agree(t, fmt.Sprintf("se_log at %g", p.At), &p.SELog, c.Expected.SELog[i], tol)
			}
			agree(t, "matters", a.Matters, c.Expected.MattersP, tol)
			agree(t, "bends", a.Bends, c.Expected.BendsP, 100*tol)
		})
	}
}

// The truth of the demo: tags tangle least at 120 mm, and by a curve.
func TestTheDemoSeasonsCurveIsFound(t *testing.T) {
	t.Parallel()
	s := fixture.Demo(t, 3, 900)
	a := curve(t, s, analytics.CurveRequest{Outcome: "tangles", Given: []string{"angler", "bulk", "junction"}})
	if *a.Matters > 0.001 || *a.Bends > 0.05 || len(a.Knots) != 2 || len(a.Boundary) != 2 {
		t.Errorf("matters %g, bends %g, knots %g, boundary %g", *a.Matters, *a.Bends, a.Knots, a.Boundary)
	}
	total, near, low, high := 0.0, 0.0, math.Inf(1), 0.0
	for _, b := range a.Best {
		if b.Probability == nil {
			continue
		}
		total += *b.Probability
		if b.At <= 145 { // at the 5th percentile the curve is straight and may miss the rise
			near += *b.Probability
		}
	}
	if math.Abs(total-1) > 1e-9 || near < 0.9 {
		t.Errorf("probabilities add up to %g, %g up to 145 mm", total, near)
	}
	for _, r := range a.Rug {
		low, high = math.Min(low, r.At), math.Max(high, r.At)
	}
	for _, p := range a.Points {
		if p.At < low || p.At > high || !(p.Low < p.Rate && p.Rate < p.High) || math.Mod(p.At, 5) != 0 {
			t.Errorf("%+v within %g–%g", p, low, high)
		}
	}
	// Inches: the same curve at other values.
	inches := curve(t, s, analytics.CurveRequest{Outcome: "tangles", Given: []string{"angler", "bulk", "junction"}, Units: units.US})
	if q := math.Mod(inches.Points[1].At, 25.4/4); math.Min(q, 25.4/4-q) > 1e-6 || !fixture.Near(*inches.Matters, *a.Matters) {
		t.Errorf("a point at %g mm, p %g and %g", inches.Points[1].At, *inches.Matters, *a.Matters)
	}
}

func TestAHighRateIsBestForHookups(t *testing.T) {
	t.Parallel()
	s := fixture.Demo(t, 4, 600)
	a := curve(t, s, analytics.CurveRequest{Outcome: "hookups", Over: "temperature", Given: []string{"water"}})
	best := 0.0
	for _, b := range a.Best {
		if math.Abs(b.At-13) <= 3 && b.Probability != nil { // truly best at 13 °C
			best += *b.Probability
		}
	}
	if !a.Highest || best < 0.9 {
		t.Errorf("highest %t, probability %g", a.Highest, best)
	}
	line := curve(t, s, analytics.CurveRequest{Outcome: "junction-break", Over: "tippet"})
	if line.Bends != nil || line.Knots != nil || *line.Matters > 0.2 || len(line.Points) != 4 {
		t.Errorf("over four sizes of tippet: %+v", line)
	}
}

func TestTheJSONOfACurve(t *testing.T) {
	t.Parallel()
	s := fixture.Demo(t, 1, 100)
	raw, err := json.Marshal(curve(t, s, analytics.CurveRequest{Outcome: "tangles", Given: []string{"bulk"}}))
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"outcome", "unit", "over", "given", "model", "points", "matters", "bends", "best", "lowest_at", "exposure", "left_out"} {
		if got[key] == nil {
			t.Errorf("no %q", key)
		}
	}
	if v := got["version"]; v != 2.0 || got["highest_at"] != nil {
		t.Errorf("version %v, highest at %v", v, got["highest_at"])
	}
	for list, keys := range map[string][]string{"points": {"at", "rate", "low", "high", "se_log"}, "best": {"at", "probability"}, "exposure": {"at", "exposure"}} {
		for _, key := range keys {
			if _, ok := got[list].([]any)[0].(map[string]any)[key]; !ok {
				t.Errorf("no %q in %s", key, list)
			}
		}
	}
	for _, key := range []string{"matters", "bends"} {
		if _, ok := got[key].(map[string]any)["p"].(float64); !ok {
			t.Errorf("no p in %q", key)
		}
	}
}
