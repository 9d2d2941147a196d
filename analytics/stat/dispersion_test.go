package stat

import (
	"rigtally/analytics/stat/published"

	"math"
	"math/rand/v2"
	"testing"
)

// TestShareDispersionIsAnova: with clusters of equal size ρ is the one-way
// analysis-of-variance estimator of 0/1 data, (MSB − MSW)/(MSB + (m − 1)MSW)
// (Donner 1986, International Statistical Review 54:67).
func TestShareDispersionIsAnova(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(8, 1))
	const clusters, size = 12, 7
	for range 50 {
		var s Sums
		var between, within float64
		counts := make([]float64, clusters)
		for i := range counts {
			counts[i] = float64(rng.IntN(size + 1))
			add(t, &s, counts[i], size)
		}
		for _, k := range counts {
			between += size * math.Pow(k/size-s.Rate(), 2) / (clusters - 1)
			within += k * (1 - k/size) / (clusters * (size - 1))
		}
		want := math.Max(0, (between-within)/(between+(size-1)*within))
		got, err := Disperse(Share, []Sums{s}, 0)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Common-want) > 1e-9 {
			t.Errorf("counts %v: ρ = %.12g, want %.12g", counts, got.Common, want)
		}
	}
}

// TestRateDispersionIsMoments: with equal exposure c² is the moment estimator
// (s² − m)/(m² − s²/n) of the negative binomial, here for the counts of red
// mites on 150 leaves of Bliss & Fisher (1953, Biometrics 9:176), whose mean
// 1.1467 and variance 2.2736 they print (frequencies and figures from memory).
func TestRateDispersionIsMoments(t *testing.T) {
	t.Parallel()
	var s Sums
	for k, leaves := range []int{70, 38, 17, 10, 9, 3, 2, 1} {
		for range leaves {
			add(t, &s, float64(k), 1)
		}
	}
	const mean, variance, n = 1.1467, 2.2736, 150
	want := (variance - mean) / (mean*mean - variance/n)
	got, err := Disperse(Rate, []Sums{s}, 0)
	if err != nil {
		t.Fatal(err)
	}
	if !published.Near(got.Common, want, 2e-4) {
		t.Errorf("c² = %.6g, want %.6g", got.Common, want)
	}
	if phi := 1 + got.Common*got.Inflation*s.Rate(); !published.Near(got.Phi[0], phi, 1e-12) {
		t.Errorf("φ = %g, want %g", got.Phi[0], phi)
	}
}

// TestDispersionIsUnbiased: averaged over many seasons, numerator and
// denominator of each estimator are in the ratio of the true value, with
// clusters of very unequal size.
func TestDispersionIsUnbiased(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(9, 1))
	for _, kind := range []Kind{Rate, Share} {
		const truth = 0.3
		var over, base float64
		for range 20000 {
			var s Sums
			for range 6 {
				size := float64(1 + rng.IntN(9))
				add(t, &s, cluster(rng, kind, 0.4, size, truth), size)
			}
			o, b := moments(kind, s)
			over += o
			base += b
		}
		if got := over / base; math.Abs(got-truth) > 0.012 {
			t.Errorf("kind %d: %g on average, want %g", kind, got, truth)
		}
	}
}

func TestDisperseEdges(t *testing.T) {
	t.Parallel()
	single := Sums{N: 1, K: 3, T: 4, KK: 9, KT: 12, TT: 16, TTT: 64}
	none := Sums{N: 3, T: 6, TT: 12, TTT: 24}                          // no events
	piled := Sums{N: 4, K: 9, T: 4, KK: 81, KT: 9, TT: 4, TTT: 4}      // all in one cluster
	split := Sums{N: 4, K: 8, T: 16, KK: 32, KT: 32, TT: 64, TTT: 256} // all or nothing
	even := Sums{N: 5, K: 10, T: 10, KK: 20, KT: 20, TT: 20, TTT: 40}  // no scatter at all
	two := Sums{N: 2, K: 5, T: 4, KK: 17, KT: 10, TT: 8, TTT: 16}      // clusters of 4 and 1
	for _, c := range []struct {
		name     string
		kind     Kind
		groups   []Sums
		clusters int
		common   float64
		df       float64
		few      bool
	}{
		{"nothing", Rate, nil, 0, 0, 1, true},
		{"empty groups", Share, []Sums{{}, {}}, 0, 0, 1, true},
		{"one cluster a group", Rate, []Sums{single, single}, 0, 0, 1, true},
		{"one degree of freedom", Rate, []Sums{two, single}, 0, 0, 1, true},
		{"the same two clusters in both groups", Rate, []Sums{two, two}, 2, 0, 1, true},
		{"no events", Rate, []Sums{none}, 0, 0, 1, false},
		{"no scatter", Rate, []Sums{even}, 0, 0, 2, false},
		{"all events in one cluster", Rate, []Sums{piled}, 0, 4, 1.5, false},
		{"all or nothing", Share, []Sums{split}, 0, 1, 1.5, false},
	} {
		d, err := Disperse(c.kind, c.groups, c.clusters)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if !published.Near(d.Common, c.common, 1e-12) || d.DF != c.df || d.TooFew != c.few {
			t.Errorf("%s: %+v", c.name, d)
		}
		for g, s := range c.groups {
			if d.Phi[g] < 1 || (c.common == 0 && d.Phi[g] != 1) {
				t.Errorf("%s: φ = %g", c.name, d.Phi[g])
			}
			if k, n := d.Effective(g, s); s.T > 0 && (!published.Near(k/n, s.Rate(), 1e-12) || c.kind == Share && k > n) {
				t.Errorf("%s: effective %g in %g", c.name, k, n)
			}
		}
	}
	// A share counts each cluster at least once, however alike its trials are.
	d, err := Disperse(Share, []Sums{split}, 0)
	if err != nil || d.Phi[0] != 4 {
		t.Errorf("all or nothing: φ = %v, want the cluster size 4 (%v)", d.Phi, err)
	}
}
