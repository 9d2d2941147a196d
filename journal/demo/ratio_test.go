package demo_test

import (
	"math"
	"testing"

	"rigtally/journal"
)

// ratio is a ratio of two rates with the standard error of its logarithm.
type ratio struct{ value, se float64 }

// off is how many standard errors a ratio lies from the truth, after allowing
// for a bias of so much in the logarithm.
func (r ratio) off(truth, bias float64) float64 {
	return math.Max(0, math.Abs(math.Log(r.value/truth))-bias) / r.se
}

// plain compares two groups of independent sessions.
func plain(one, other journal.Sums, heterogeneity float64) ratio {
	a, b := one.K/one.T, other.K/other.T
	return ratio{a / b, math.Sqrt(dispersion(one, heterogeneity)/one.K + dispersion(other, heterogeneity)/other.K)}
}

// heterogeneity is the squared coefficient of variation between sessions by
// moments: what the squared residuals exceed their Poisson part by, over the
// squared expectations.
func heterogeneity(groups []journal.Sums) float64 {
	var excess, scale float64
	for _, g := range groups {
		if g.Sessions < 2 {
			continue
		}
		r := g.K / g.T
		excess += g.KK - 2*r*g.KT + r*r*g.TT - r*g.T + r*g.TT/g.T
		scale += (1 - 1/float64(g.Sessions)) * r * r * g.TT
	}
	if scale == 0 {
		return 0
	}
	return math.Max(0, excess/scale)
}

func dispersion(g journal.Sums, heterogeneity float64) float64 {
	return 1 + heterogeneity*g.K/g.T*g.TT/g.T
}

// stratum is one stratum of a comparison: events and exposure of either group.
type stratum struct{ k1, t1, k0, t0 float64 }

// mantelHaenszel pools a rate ratio over strata (Rothman & Greenland 1998,
// Modern Epidemiology, 2nd ed., chapter 15), with the variance of its
// logarithm after Greenland & Robins 1985, Biometrics 41:55.
func mantelHaenszel(strata []stratum) ratio {
	var r, s, v float64
	for _, x := range strata {
		t := x.t1 + x.t0
		if x.t1 == 0 || x.t0 == 0 {
			continue
		}
		r += x.k1 * x.t0 / t
		s += x.k0 * x.t1 / t
		v += (x.k1 + x.k0) * x.t1 * x.t0 / (t * t)
	}
	return ratio{r / s, math.Sqrt(v / (r * s))}
}

// TestMantelHaenszel: deaths of British doctors from coronary disease by
// smoking, strata of age (Doll & Hill 1966, NCI Monograph 19:205; Rothman &
// Greenland 1998, table 15-2). Expected values by R 4 with epiR::epi.2by2.
func TestMantelHaenszel(t *testing.T) {
	t.Parallel()
	got := mantelHaenszel([]stratum{
		{32, 52407, 2, 18790}, {104, 43248, 12, 10673}, {206, 28612, 28, 5710}, {186, 12663, 28, 2585}, {102, 5317, 31, 1462},
	})
	const tol = 1e-8
	if math.Abs(got.value/1.424682017-1) > tol || math.Abs(got.se/0.107198596-1) > tol {
		t.Errorf("got %+v, want 1.424682017 and 0.107198596", got)
	}
}
