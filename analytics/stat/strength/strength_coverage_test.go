package strength

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"
)

var long = flag.Bool("long", false, "simulate ten times as often")

// weibullPull draws a strength from a Weibull distribution.
func weibullPull(random *rand.Rand, shape, scale float64) float64 {
	return scale * math.Pow(-math.Log(random.Float64()), 1/shape)
}

// coverageOf counts how often a simulated interval holds the truth.
func coverageOf(runs int, holds func() bool) float64 {
	n := 0
	for range runs {
		if holds() {
			n++
		}
	}
	return float64(n) / float64(runs)
}

func simulations(short int) int {
	if *long {
		return 10 * short
	}
	return short
}

// Fieller's interval for the ratio of two Weibull means of unequal scatter, as
// knots against plain tippet: 95% is promised.
func TestFiellerCoverage(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	random := rand.New(rand.NewPCG(11, 1))
	mean := func(shape, scale float64) float64 { return scale * math.Gamma(1+1/shape) }
	for _, c := range []struct {
		m, n         int
		shape, plain float64
	}{{5, 5, 8, 20}, {12, 12, 8, 20}, {20, 8, 5, 15}, {12, 12, 3, 3}} {
		truth := mean(c.shape, 11) / mean(c.plain, 15)
		got := coverageOf(simulations(2000), func() bool {
			x, y := make([]float64, c.m), make([]float64, c.n)
			for i := range x {
				x[i] = weibullPull(random, c.shape, 11)
			}
			for i := range y {
				y[i] = weibullPull(random, c.plain, 15)
			}
			r, err := RatioOfMeans(0.95, Stratum{X: x, Y: y})
			return err == nil && (r.Bounds == Unbounded || r.Low <= truth && truth <= r.High)
		})
		t.Logf("%d and %d pulls, shapes %g and %g: %.1f%%", c.m, c.n, c.shape, c.plain, 100*got)
		if got < 0.93 {
			t.Errorf("%+v: covers %.3f", c, got)
		}
	}
}

// Profile and Wald intervals of the 10% strength with slips as censored values.
func TestWeibullCoverage(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	random := rand.New(rand.NewPCG(12, 1))
	const shape, scale = 8, 11.0
	truth := Weibull{Shape: shape, Scale: scale}.Quantile(0.1)
	for _, c := range []struct {
		n    int
		slip float64 // chance that a pull slips somewhere below its strength
	}{{5, 0}, {8, 0}, {12, 0.1}, {20, 0.1}, {20, 0.3}} {
		wald, allowing := 0, 0
		runs := simulations(100)
		got := coverageOf(runs, func() bool {
			data := make([]Observed, c.n)
			for i := range data {
				data[i].Value = weibullPull(random, shape, scale)
				if random.Float64() < c.slip {
					data[i] = Observed{data[i].Value * (0.6 + 0.4*random.Float64()), true}
				}
			}
			w, err := FitWeibull(data)
			if err != nil {
				return true
			}
			plain, _ := w.Wald(0.1, 0.95)
			if plain.Low <= truth && truth <= plain.High {
				wald++
			}
			if wide, err := w.QuantileInterval(0.1, w.Allowing(0.95)); err == nil && wide.Low <= truth && truth <= wide.High {
				allowing++
			}
			profile, err := w.QuantileInterval(0.1, 0.95)
			return err == nil && profile.Low <= truth && truth <= profile.High
		})
		wide := float64(allowing) / float64(runs)
		t.Logf("%d pulls, %g slip: profile %.1f%%, allowing for few %.1f%%, Wald %.1f%%", c.n, c.slip, 100*got, 100*wide, 100*float64(wald)/float64(runs))
		if got < 0.86 || wide < 0.90 {
			t.Errorf("%+v: covers %.3f, allowing for few %.3f", c, got, wide)
		}
	}
}

// Where nothing differs, at most one test in twenty finds a difference.
func TestStrengthFalseAlarms(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	random := rand.New(rand.NewPCG(13, 1))
	for _, c := range []struct{ m, n, strata int }{{4, 4, 1}, {12, 12, 1}, {5, 15, 1}, {4, 4, 3}} {
		runs := simulations(500)
		welch, ranks, shift := 0, 0, 0
		for range runs {
			strata, ranked := make([]Stratum, c.strata), make([]Ranked, c.strata)
			for s := range strata {
				draw := func(n int) []float64 {
					x := make([]float64, n)
					for i := range x {
						x[i] = math.Round(10*weibullPull(random, 6, 10+5*float64(s))) / 10 // as read off a scale
					}
					return x
				}
				strata[s] = Stratum{X: draw(c.m), Y: draw(c.n)}
				ranked[s] = Ranked{X: strata[s].X, Y: strata[s].Y}
			}
			if d, err := Welch(0.95, strata...); err == nil && d.P < 0.05 {
				welch++
			}
			r, err := MannWhitney(0.95, ranked...)
			if err == nil && r.P < 0.05 {
				ranks++
			}
			if r.Low > 0 || r.High < 0 {
				shift++
			}
		}
		share := func(n int) float64 { return 100 * float64(n) / float64(runs) }
		t.Logf("%d and %d pulls in %d strata: Welch %.1f%%, ranks %.1f%%, shift %.1f%%", c.m, c.n, c.strata, share(welch), share(ranks), share(shift))
		for _, got := range []float64{share(welch), share(ranks), share(shift)} {
			if got > 8 {
				t.Errorf("%+v: %g%% false alarms", c, got)
			}
		}
	}
}
