package mixture

import (
	"rigtally/analytics/stat/published"

	"math"
	"testing"
)

type shrinkCase struct {
	ID       string
	Data     struct{ Events, Exposure, Trials, Freq []float64 }
	Expected struct {
		A, B, LogLik    float64
		Mean, Low, High []float64
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
			shrink := ShrinkRates
			if c.Data.Trials != nil {
				shrink = ShrinkShares
			}
			events, base, first := c.units()
			s, err := shrink(events, base)
			if err != nil {
				t.Fatal(err)
			}
			want := c.Expected
			published.Agree(t, "a, b, log-likelihood", []float64{s.A, s.B, s.LogLik}, []float64{want.A, want.B, want.LogLik}, tol)
			var mean, low, high []float64
			for _, i := range first {
				u := s.Units[i]
				mean, low, high = append(mean, u.Mean), append(low, u.Low), append(high, u.High)
			}
			published.Agree(t, "mean", mean, want.Mean, tol)
			published.Agree(t, "low", low, want.Low, tol)
			published.Agree(t, "high", high, want.High, tol)
		})
	}
}

// TestShrinkWithoutVariation: counts that scatter less than Poisson or binomial
// give everyone the pooled rate; its exact limits are R's
// poisson.test(12, 40)$conf.int and binom.test(12, 40)$conf.int.
func TestShrinkWithoutVariation(t *testing.T) {
	t.Parallel()
	k, n := []float64{3, 3, 3, 3}, []float64{10, 10, 10, 10}
	for name, c := range map[string]struct {
		shrink    func(a, b []float64) (*Shrunk, error)
		low, high float64
	}{
		"rates":  {ShrinkRates, 0.155014377718055, 0.524039626204424},
		"shares": {ShrinkShares, 0.165627204393236, 0.465316285254123},
	} {
		s, err := c.shrink(k, n)
		if err != nil {
			t.Fatal(err)
		}
		if !s.Common || s.A != 0 || len(s.Units) != 4 {
			t.Fatalf("%s: %+v", name, s)
		}
		for _, u := range s.Units {
			published.Agree(t, name, []float64{u.Mean, u.Low, u.High}, []float64{0.3, c.low, c.high}, 1e-8)
		}
	}
}

func TestShrinkAtTheEdges(t *testing.T) {
	t.Parallel()
	none, all := []float64{0, 0, 0}, []float64{4, 9, 2}
	s, err := ShrinkRates(none, all)
	if err != nil || !s.Common || s.Units[0].Mean != 0 || s.Units[0].Low != 0 {
		t.Errorf("no events: %+v, %v", s, err)
	}
	// 1-0.025^(1/15): no success, or no failure, in 15 (binom.test).
	limit := 1 - math.Pow(0.025, 1.0/15)
	if s, err = ShrinkShares(none, all); err != nil || !s.Common {
		t.Fatalf("no events: %+v, %v", s, err)
	}
	published.Agree(t, "none of 15", []float64{s.Units[1].Low, s.Units[1].High}, []float64{0, limit}, 1e-9)
	if s, err = ShrinkShares(all, all); err != nil || !s.Common {
		t.Fatalf("only events: %+v, %v", s, err)
	}
	published.Agree(t, "15 of 15", []float64{s.Units[1].Low, s.Units[1].High}, []float64{1 - limit, 1}, 1e-9)
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
			for i, u := range s.Units {
				if !(u.Mean >= low-1e-12 && u.Mean <= high+1e-12 && u.Low <= u.Mean && u.High >= u.Mean) && !(u.Mean > 0 && u.Mean < high) {
					t.Errorf("%v of %v, unit %d: %+v", k, n, i, u)
				}
				if math.IsNaN(u.Low + u.High) {
					t.Errorf("%v of %v, unit %d: %+v", k, n, i, u)
				}
			}
		}
	}
}
