package analytics

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/invent"
	"rigtally/journal"
)

// Of two options the value of more hours is an integral over one normal variable, which Gauss-Legendre
// quadrature of gonum finds without a draw.
func TestWorthOfTwoOptionsIsAnIntegral(t *testing.T) {
	t.Parallel()
	const mean, variance, error, hours, more = -0.1, 0.04, 0.09, 200.0, 10.0
	a := RateAnswer{Outcome: journal.Outcome{Key: "tangles"}, Groups: []Group{{Rate: 0.5, Exposure: 150, Events: 75}, {Rate: 0.45, Exposure: 50, Events: 22}},
		Total:   Group{Hours: hours, Exposure: hours},
		weighed: believed{groups: []int{1}, mean: []float64{mean}, cov: mat.NewSymDense(1, []float64{variance}), error: mat.NewSymDense(1, []float64{error})}}
	got, ok, err := a.Worth(Cost{Minutes: 8, Hours: 300, More: more})
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	fresh := error * hours / more
	learned := variance * variance / (variance + fresh)
	left := variance - learned
	n := distuv.Normal{Mu: mean, Sigma: math.Sqrt(learned)}
	later := quad.Fixed(func(m float64) float64 { return n.Prob(m) * min(1, math.Exp(m+left/2)) }, mean-8*n.Sigma, mean+8*n.Sigma, 400, quad.Legendre{}, 0)
	want := (min(1, math.Exp(mean+variance/2)) - later) * 0.5 * 8 * 300
	if math.Abs(got-want) > 0.15*want {
		t.Errorf("%g minutes, the integral is %g", got, want)
	}
}

// A bet of 80% and more is right at least that often under the prior that it is made by: ratios are drawn
// from it, seasons fished with them, and the bets counted (the definition of calibration, Dawid 1982, JASA 77:605).
func TestBetsAreRightAsOftenAsTheySay(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	r := rand.New(rand.NewPCG(5, 5))
	bets, right, said := 0, 0, 0.0
	for range 300 {
		truth := PriorSD * r.NormFloat64()
		c := invent.Season{Sessions: 40, Rate: 0.5, CV: 0.5, Ratio: math.Exp(truth)}
		a, err := Rates(context.Background(), invent.Journal(c.Draw(r)), Request{Outcome: "tangles", By: []string{"junction"}, Versus: "figure-eight"})
		if err != nil {
			t.Fatal(err)
		}
		if a.Bet == nil || !a.Bet.Best() {
			continue
		}
		bets++
		said += a.Bet.Chance
		if blood := a.Groups[a.Bet.Option].Level[0].Word == "blood"; blood == (truth < 0) {
			right++
		}
	}
	t.Logf("%d bets, %d right, %.1f%% said", bets, right, 100*said/float64(bets))
	if share := float64(right) / float64(bets); bets < 60 || math.Abs(share-said/float64(bets)) > 0.08 {
		t.Errorf("%d of %d bets are right, and they said %.1f%%", right, bets, 100*said/float64(bets))
	}
}
