package mixture

import (
	"flag"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat"
	"rigtally/analytics/stat/published"
)

var long = flag.Bool("long", false, "simulate ten times as often")

// rateIntervals are the middle 95% of what the counts let one believe.
func rateIntervals(events, exposure []float64) ([]stat.Interval, error) {
	return intervalsOf(RatePosteriors(events, exposure))
}

func shareIntervals(events, trials []float64) ([]stat.Interval, error) {
	return intervalsOf(SharePosteriors(events, trials))
}

func intervalsOf(list []Posterior, err error) ([]stat.Interval, error) {
	var out []stat.Interval
	for _, p := range list {
		out = append(out, p.Interval())
	}
	return out, err
}

type averageCase struct {
	ID       string
	Units    []int
	Data     struct{ Events, Exposure, Trials []float64 }
	Expected struct{ Low, High []float64 }
}

func TestShrunkIntervalsReference(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[averageCase](t, "prior-average.json")
	for _, c := range cases {
		got, err := rateIntervals(c.Data.Events, c.Data.Exposure)
		if c.Data.Trials != nil {
			got, err = shareIntervals(c.Data.Events, c.Data.Trials)
		}
		if err != nil {
			t.Fatal(err)
		}
		var low, high []float64
		for _, u := range c.Units {
			low, high = append(low, got[u-1].Low), append(high, got[u-1].High)
		}
		published.Agree(t, c.ID+" low", low, c.Expected.Low, tol)
		published.Agree(t, c.ID+" high", high, c.Expected.High, tol)
	}
}

// The intervals must hold the true rates about 95% of the time also for the few
// units whose prior cannot be known well. The bounds leave room for the chance
// of so few simulated outfits; -long simulates ten times as many.
func TestShrunkIntervalsKeepTheirPromise(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates for seconds")
	}
	rng := rand.New(rand.NewPCG(7, 1))
	for _, cv := range []float64{0.3, 0.6} {
		const units = 5
		outfits, held := 100, 0
		if *long {
			outfits = 1000
		}
		for range outfits {
			var truth, k, exposure []float64
			for range units {
				rate := 0.4 * distuv.Gamma{Alpha: 1 / (cv * cv), Beta: 1 / (cv * cv), Src: rng}.Rand()
				hours := 20 + 60*rng.Float64()
				truth, exposure = append(truth, rate), append(exposure, hours)
				k = append(k, distuv.Poisson{Lambda: rate * hours, Src: rng}.Rand())
			}
			wide, err := rateIntervals(k, exposure)
			if err != nil {
				t.Fatal(err)
			}
			for i, rate := range truth {
				if wide[i].Low <= rate && rate <= wide[i].High {
					held++
				}
			}
		}
		share := float64(held) / float64(outfits*units)
		t.Logf("cv %g: held %.3f", cv, share)
		if share < 0.92 || share > 0.985 {
			t.Errorf("cv %g: %.3f of the true rates held", cv, share)
		}
	}
}

func TestShrunkIntervalsAtTheEdges(t *testing.T) {
	t.Parallel()
	none, all := []float64{0, 0}, []float64{5, 20}
	got, err := rateIntervals(none, all)
	if err != nil || got[0].Low != 0 || got[0].High <= got[1].High {
		t.Errorf("no events: %v, %v", got, err)
	}
	for _, k := range [][]float64{none, all} {
		if got, err := shareIntervals(k, all); err != nil || !(got[0].Low >= 0 && got[0].High <= 1) {
			t.Errorf("%v of %v: %v, %v", k, all, got, err)
		}
	}
	for _, k := range [][]float64{{0, 0, 0, 50}, {50, 0}, {1e5, 9e4, 1}, {0.2, 3.7, 9.1, 0}, {1}} {
		n := make([]float64, len(k))
		for i := range n {
			n[i] = max(1, k[i]) * float64(1+i)
		}
		for name, f := range map[string]func(a, b []float64) ([]stat.Interval, error){"rates": rateIntervals, "shares": shareIntervals} {
			got, err := f(k, n)
			if err != nil {
				t.Fatal(err)
			}
			for i, u := range got {
				if !(u.Low >= 0 && u.Low < u.High && u.High < 1e6) || name == "shares" && u.High > 1 {
					t.Errorf("%s %v of %v, unit %d: %+v", name, k, n, i, u)
				}
			}
		}
	}
	for _, bad := range [][2][]float64{{{1}, {0}}, {{}, {}}} {
		if _, err := rateIntervals(bad[0], bad[1]); err == nil {
			t.Errorf("%v passed", bad)
		}
	}
	if _, err := shareIntervals([]float64{3, 0}, []float64{2, 9}); err == nil {
		t.Error("3 of 2 passed")
	}
}
