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

func rug(pairs ...float64) (list []analytics.Rug) {
	for i := 0; i < len(pairs); i += 2 {
		list = append(list, analytics.Rug{At: pairs[i], Exposure: pairs[i+1]})
	}
	return list
}

// The ends are the percentiles that R 4.2.2 has of the same values, each repeated by its
// exposure: quantile(rep(at, exposure), c(0.05, 0.95), type = 1).
func TestFishedRangeAgreesWithR(t *testing.T) {
	t.Parallel()
	many := rug(90, 1, 100, 2, 110, 10, 120, 30, 130, 25, 140, 20, 150, 8, 170, 3, 200, 1)
	for _, tt := range []struct {
		rug              []analytics.Rug
		share, low, high float64
	}{
		{many, 0.9, 110, 150},
		{many, 0.5, 120, 140},
		{rug(100, 5, 150, 90, 200, 5), 0.9, 100, 150},
		{rug(152.4, 0.1), 0.9, 152.4, 152.4},
	} {
		if low, high := analytics.FishedRange(tt.rug, tt.share); low != tt.low || high != tt.high {
			t.Errorf("%g of %v: %g to %g, want %g to %g", tt.share, tt.rug, low, high, tt.low, tt.high)
		}
	}
}

// The value named is the one likeliest to be the best, and lies where it was fished, whatever the curve
// does beyond.
func TestChoiceLiesWhereItWasFished(t *testing.T) {
	t.Parallel()
	a := analytics.CurveAnswer{Rug: rug(90, 2, 100, 30, 110, 30, 120, 30, 130, 2)}
	for i, rate := range []float64{0.1, 0.4, 0.3, 0.5, 0.05} {
		at := 90 + 10*float64(i)
		a.Points = append(a.Points, analytics.CurvePoint{At: at, Rate: rate})
		chance := analytics.Chance{At: at}
		if p := []float64{0, 0.2, 0.7, 0.1, 0}[i]; p > 0 {
			chance.Probability = &p
		}
		a.Best = append(a.Best, chance)
	}
	c := a.Choice()
	if c == nil || c.At != 110 || c.Rate != 0.3 || c.Probability != 0.7 || c.LikelyFrom != 100 || c.LikelyTo != 120 ||
		c.From != 100 || c.To != 120 || c.Below != 2 || c.Above != 2 || !c.BetterBelow || !c.BetterAbove {
		t.Errorf("%+v", c)
	}
	if a.Highest = true; a.Choice().BetterBelow {
		t.Error("a lower rate is taken for a better one")
	}
	for i := range a.Best {
		a.Best[i].Probability = nil
	}
	if c := a.Choice(); c != nil {
		t.Errorf("without a chance: %+v", c)
	}
}

// In a whole journal, name and chance agree, and only what was fished has a chance.
func TestOnlyWhatWasFishedHasAChance(t *testing.T) {
	t.Parallel()
	s := fixture.Demo(t, 1, 200)
	for _, r := range []analytics.CurveRequest{{Outcome: "tangles"}, {Outcome: "hookups", Over: "flow"}, {Outcome: "junction-break", Over: "tippet"}} {
		a := curve(t, s, r)
		c := a.Choice()
		if c == nil || c.At < c.From-1e-6 || c.At > c.To+1e-6 {
			t.Fatalf("%s: %+v", r.Outcome, c)
		}
		total := 0.0
		for i, b := range a.Best {
			inside := b.At >= c.From-1e-6 && b.At <= c.To+1e-6
			if inside != (b.Probability != nil) || b.At != a.Points[i].At {
				t.Errorf("%s: at %g, fished from %g to %g: %v", r.Outcome, b.At, c.From, c.To, b.Probability)
			}
			if b.Probability != nil {
				total += *b.Probability
				if *b.Probability > c.Probability {
					t.Errorf("%s: %g is likelier than what is named, %g", r.Outcome, b.At, c.At)
				}
			}
		}
		if math.Abs(total-1) > 1e-9 {
			t.Errorf("%s: chances add up to %g", r.Outcome, total)
		}
	}
}
