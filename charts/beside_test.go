package charts

import (
	"testing"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
)

// A like-for-like curve has the one as fished beside it, at its own rates, broken.
func TestTheCurveAsFishedStandsBeside(t *testing.T) {
	t.Parallel()
	over, err := journal.FactorByKey("tag-length")
	if err != nil {
		t.Fatal(err)
	}
	made := func(rates ...float64) analytics.CurveAnswer {
		a := analytics.CurveAnswer{Outcome: outcome(t, "tangles"), Over: over}
		for i, r := range rates {
			a.Points = append(a.Points, analytics.CurvePoint{At: 100 + 50*float64(i), Rate: r, Low: r / 2, High: r * 2, HasInterval: true})
			a.Best = append(a.Best, analytics.Chance{At: 100 + 50*float64(i), Probability: new(1 / float64(len(rates)))})
			a.Rug = append(a.Rug, analytics.Rug{At: 100 + 50*float64(i), Exposure: 10})
		}
		return a
	}
	c := CurveBeside(made(0.4, 0.5, 0.6), made(0.3, 0.5, 0.7), units.Metric)
	valid(t, "beside", c)
	layers := c.Fields[0].Layers
	line := layers[len(layers)-1]
	if m := line.Marks; !line.Dash || len(m) != 3 || m[0].Y != 0.3 || m[2].Y != 0.7 || m[0].X != 100 {
		t.Errorf("the line beside is %v, broken %v", m, line.Dash)
	}
	if line.Says != "as fished" || layers[0].Says+layers[1].Says != "like for like" {
		t.Errorf("the lines say %q and %q", layers[0].Says+layers[1].Says, line.Says)
	}
}
