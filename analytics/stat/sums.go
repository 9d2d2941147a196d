package stat

import (
	"fmt"
	"math"
)

// slack is the relative error allowed for sums that were added up elsewhere in
// another order: a database and this package need not agree to the last bit.
const slack = 1e-9

// Sums are the sufficient statistics of one group: sums over its clusters
// (independent units, such as outings) of the events or the amount k and of
// the exposure t of each. Clusters without exposure are left out. The zero
// value is an empty group.
type Sums struct {
	N               int     // number of clusters with exposure
	K, T            float64 // Σk, Σt
	KK, KT, TT, TTT float64 // Σk², Σkt, Σt², Σt³
}

// Add counts one cluster with k events in exposure t. A cluster with k = 0 and
// t = 0 changes nothing. Events without exposure, negative and non-finite
// values are refused and change nothing either.
func (s *Sums) Add(k, t float64) error {
	if k == 0 && t == 0 {
		return nil
	}
	if err := checkCount(k, t); err != nil {
		return fmt.Errorf("adding a cluster with %g events in exposure %g: %w", k, t, err)
	}
	s.N++
	s.K += k
	s.T += t
	s.KK += k * k
	s.KT += k * t
	s.TT += t * t
	s.TTT += t * t * t
	return nil
}

// Rate is the ratio of totals K/T, the estimator of choice when exposure varies
// between clusters (Pollock, Jones & Brown 1994, Angler Survey Methods; Hoenig
// et al. 1997, Biometrics 53:306). It is 0 for an empty group.
func (s Sums) Rate() float64 {
	if s.T == 0 {
		return 0
	}
	return s.K / s.T
}

// residual is Σ(k − rt)² with r = K/T. A difference below the precision of the
// sums counts as none, so that cancellation never makes scatter.
func (s Sums) residual() float64 {
	r := s.Rate()
	square := s.KK + r*r*s.TT
	rest := square - 2*r*s.KT
	if rest <= 1e-12*square {
		return 0
	}
	return rest
}

// check refuses sums that no set of clusters can give: those with a wrong sign
// or beyond the bounds of Cauchy and Schwarz. An empty group passes.
func (s Sums) check() error {
	if s == (Sums{}) {
		return nil
	}
	if s.N < 1 {
		return fmt.Errorf("sums over %d clusters: at least one is needed", s.N)
	}
	if err := checkCount(s.K, s.T); err != nil {
		return err
	}
	n := float64(s.N)
	for _, sum := range []struct {
		name             string
		value, low, high float64
	}{
		{"squared events", s.KK, s.K * s.K / n, s.K * s.K},
		{"squared exposures", s.TT, s.T * s.T / n, s.T * s.T},
		{"events times exposures", s.KT, 0, math.Sqrt(s.KK) * math.Sqrt(s.TT)},
		{"cubed exposures", s.TTT, s.TT * s.TT / s.T, s.T * s.TT},
	} {
		if !(sum.value >= sum.low*(1-slack) && sum.value <= sum.high*(1+slack)) || !Finite(sum.high) {
			return fmt.Errorf("sum of %s is %g: with %d clusters, %g events and exposure %g it must lie between %g and %g",
				sum.name, sum.value, s.N, s.K, s.T, sum.low, sum.high)
		}
	}
	return nil
}
