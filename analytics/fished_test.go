package analytics_test

import (
	"math"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
)

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
