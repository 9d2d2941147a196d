package mixture

import (
	"math"
	"testing"

	"rigtally/analytics/stat/published"
)

type shrinkCase struct {
	ID       string
	Data     struct{ Events, Exposure, Trials, Freq []float64 }
	Expected struct {
		A, B, LogLik float64
		Mean         []float64
	}
}

// units repeats the entries of a case and lists where each starts.
func (c *shrinkCase) units() (events, base []float64, first []int) {
	base = c.Data.Exposure
	if base == nil {
		base = c.Data.Trials
	}
	if c.Data.Freq == nil {
		for i := range base {
			first = append(first, i)
		}
		return c.Data.Events, base, first
	}
	var repeated []float64
	for i, n := range c.Data.Freq {
		first = append(first, len(events))
		for range int(n) {
			events, repeated = append(events, c.Data.Events[i]), append(repeated, base[i])
		}
	}
	return events, repeated, first
}

func TestShrinkReference(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[shrinkCase](t, "empirical-bayes.json")
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			events, base, first := c.units()
			shrink, m := ShrinkRates, family(&gammaPoisson{k: events, t: base})
			if c.Data.Trials != nil {
				shrink, m = ShrinkShares, &betaBinomial{k: events, n: base}
			}
			s, err := shrink(events, base)
			if err != nil {
				t.Fatal(err)
			}
			dispersion := 1 / s.A
			if c.Data.Trials != nil {
				dispersion = 1 / (s.A + s.B)
			}
			want := c.Expected
			published.Agree(t, "a, b, log-likelihood", []float64{s.A, s.B, m.logLik(dispersion, s.Centre)}, []float64{want.A, want.B, want.LogLik}, tol)
			var mean []float64
			for _, i := range first {
				mean = append(mean, s.Means[i])
			}
			published.Agree(t, "mean", mean, want.Mean, tol)
		})
	}
}

// TestShrinkWithoutVariation: counts that scatter less than Poisson or binomial
// give everyone the pooled rate.
func TestShrinkWithoutVariation(t *testing.T) {
	t.Parallel()
	k, n := []float64{3, 3, 3, 3}, []float64{10, 10, 10, 10}
	for name, shrink := range map[string]func(a, b []float64) (*Shrunk, error){"rates": ShrinkRates, "shares": ShrinkShares} {
		s, err := shrink(k, n)
		if err != nil {
			t.Fatal(err)
		}
		if !s.Common || s.A != 0 {
			t.Fatalf("%s: %+v", name, s)
		}
		published.Agree(t, name, s.Means, []float64{0.3, 0.3, 0.3, 0.3}, 1e-12)
	}
}

func TestShrinkAtTheEdges(t *testing.T) {
	t.Parallel()
	none, all := []float64{0, 0, 0}, []float64{4, 9, 2}
	s, err := ShrinkRates(none, all)
	if err != nil || !s.Common || s.Means[0] != 0 {
		t.Errorf("no events: %+v, %v", s, err)
	}
	if s, err = ShrinkShares(none, all); err != nil || !s.Common || s.Means[1] != 0 {
		t.Errorf("no events: %+v, %v", s, err)
	}
	if s, err = ShrinkShares(all, all); err != nil || !s.Common || s.Means[1] != 1 {
		t.Errorf("only events: %+v, %v", s, err)
	}
	for _, shrink := range []func(a, b []float64) (*Shrunk, error){ShrinkRates, ShrinkShares} {
		for _, bad := range [][2][]float64{{{1}, {0}}, {{-1}, {2}}, {{math.NaN()}, {2}}, {{}, {}}, {{1, 2}, {3}}} {
			if s, err := shrink(bad[0], bad[1]); err == nil {
				t.Errorf("%v of %v gave %+v", bad[0], bad[1], s)
			}
		}
	}
	if s, err := ShrinkShares([]float64{3}, []float64{2}); err == nil {
		t.Errorf("3 of 2 gave %+v", s)
	}
}

// TestShrinkIsFiniteForExtremes: whatever the counts, every number is finite and
// inside the range of the raw values.
func TestShrinkIsFiniteForExtremes(t *testing.T) {
	t.Parallel()
	for _, k := range [][]float64{{0, 0, 0, 50}, {50, 0}, {1e5, 9e4, 1}, {0.2, 3.7, 9.1, 0}, {1}, {100, 100, 100, 0}} {
		n := make([]float64, len(k))
		for i := range n {
			n[i] = max(1, k[i]) * float64(1+i)
		}
		for _, shrink := range []func(a, b []float64) (*Shrunk, error){ShrinkRates, ShrinkShares} {
			s, err := shrink(k, n)
			if err != nil {
				t.Fatal(err)
			}
			low, high := math.Inf(1), 0.0
			for i := range k {
				low, high = min(low, k[i]/n[i]), max(high, k[i]/n[i])
			}
			for i, mean := range s.Means {
				if !(mean >= low-1e-12 && mean <= high+1e-12) {
					t.Errorf("%v of %v, unit %d: %g", k, n, i, mean)
				}
			}
		}
	}
}
