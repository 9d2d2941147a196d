package stat

import (
	"fmt"
	"math"
)

// Kind says what the events of a question are counted over.
type Kind int

const (
	// Rate counts events per unit of exposure; a count has no upper bound.
	Rate Kind = iota
	// Share counts events among trials; exposure is the number of trials.
	Share
)

// Dispersion says how much more the counts of clusters scatter than Poisson
// (rates) or binomial (shares) counts do.
type Dispersion struct {
	// Common is shared by the groups of one question: for rates the squared
	// coefficient of variation c² of the clusters' expectations, for shares
	// the intra-cluster correlation ρ.
	Common float64
	// DF is ν, the degrees of freedom Common is taken to have.
	DF float64
	// Inflation is the factor (t₀.₉₇₅,ν/z₀.₉₇₅)² on Common inside Phi.
	Inflation float64
	// Phi holds for each group the variance of its total relative to a
	// Poisson or binomial total; at least 1, and 1 for an empty group.
	Phi []float64
	// TooFew is true when there are too few clusters to know how they differ.
	// Phi is then 1 throughout and intervals allow for chance only.
	TooFew bool
}

// Effective returns the effective count and exposure of group g, K/φ and T/φ
// (Korn & Graubard 1998, Survey Methodology 24:193, divide by the design
// effect in the same way). Their ratio is the group's rate.
func (d Dispersion) Effective(g int, s Sums) (k, t float64) {
	return s.K / d.Phi[g], s.T / d.Phi[g]
}

// Disperse estimates the dispersion of the groups of one question. Clusters is
// the number of different clusters in all groups together, for a cluster may
// have exposure in several groups; 0 means that each is in one group only.
//
// With e = k − rt the residual of a cluster and r = K/T, the variances
//
//	rates:  Var k = λt + c²λ²t²          (negative binomial)
//	shares: Var k = pqt + ρpqt(t−1)      (beta-binomial)
//
// give, exactly, with A = Σe², a = T − Σt²/T, u = Σt²/T²,
// b = Σt² − 2Σt³/T + (Σt²)²/T² and b′ = b − a,
//
//	rates:  E A = λa + c²λ²b,   E[(K² − K)/T²] = λ²(1 + c²u)
//	shares: E A = pq(a + ρb′),  E[r(1 − r)] = pq(1 − 1/T − ρ(u − 1/T))
//
// Eliminating λ² or pq from each pair and summing over groups,
//
//	c² = Σ(A − ra) / Σ(b(K² − K)/T² − u(A − ra))
//	ρ  = Σ((1 − 1/T)A − r(1−r)a) / Σ(r(1−r)b′ + (u − 1/T)A)
//
// where numerator and denominator have expectations in the ratio c² or ρ. With
// clusters of equal size these are the moment estimator of the negative
// binomial (Anscombe 1950, Biometrika 37:358) with the bias of the squared mean
// removed, and the analysis-of-variance estimator of ρ (Donner 1986,
// International Statistical Review 54:67). Both are kept at or above 0, ρ at or
// below 1, and c² at or below the number of clusters, which is what the plain
// moment estimator gives when all events fall in one cluster.
//
// Then φ = 1 + c²r Σt²/Σt or 1 + ρ(Σt²/Σt − 1). Because c² and ρ are
// estimates, both are inflated there by (t₀.₉₇₅,ν/z₀.₉₇₅)², ν being half the
// degrees of freedom between clusters, min(Σ(n_g − 1), clusters − 1), and at
// least 1; ρ stays at or below 1.
func Disperse(kind Kind, groups []Sums, clusters int) (Dispersion, error) {
	if kind != Rate && kind != Share {
		return Dispersion{}, fmt.Errorf("kind of question is %d: it must be Rate or Share", int(kind))
	}
	for g, s := range groups {
		if err := s.check(); err != nil {
			return Dispersion{}, fmt.Errorf("group %d: %w", g+1, err)
		}
		// In each cluster k ≤ t, so k² ≤ kt.
		if kind == Share && (s.K > s.T*(1+slack) || s.KK > s.KT*(1+slack)) {
			return Dispersion{}, fmt.Errorf("group %d: a cluster has more events than trials", g+1)
		}
	}
	free, total, err := freedom(groups, clusters)
	if err != nil {
		return Dispersion{}, err
	}
	d := Dispersion{
		DF:     math.Max(1, float64(free)/2),
		Phi:    make([]float64, len(groups)),
		TooFew: free < 2,
	}
	z := NormalUpper(0.025)
	d.Inflation = math.Pow(StudentUpper(0.025, d.DF)/z, 2)
	if !d.TooFew {
		d.Common = common(kind, groups, float64(total))
	}
	for g, s := range groups {
		d.Phi[g] = phi(kind, s, d.Common*d.Inflation)
	}
	return d, nil
}

// freedom returns the degrees of freedom between clusters and the number of
// different clusters.
func freedom(groups []Sums, clusters int) (free, total int, err error) {
	largest, sum := 0, 0
	for _, s := range groups {
		if s.N > 0 {
			free += s.N - 1
		}
		sum += s.N
		largest = max(largest, s.N)
	}
	if clusters == 0 || clusters > sum {
		clusters = sum
	}
	if clusters < largest {
		return 0, 0, fmt.Errorf("%d different clusters, but one group alone has %d", clusters, largest)
	}
	return max(0, min(free, clusters-1)), clusters, nil
}

// common is c² or ρ by the moments derived at Disperse.
func common(kind Kind, groups []Sums, clusters float64) float64 {
	var over, base float64
	for _, s := range groups {
		if s.N == 0 {
			continue
		}
		o, b := moments(kind, s)
		over += o
		base += b
	}
	top := clusters
	if kind == Share {
		top = 1
	}
	switch {
	case !(over > 0):
		return 0
	case base <= over/top:
		return top
	default:
		return over / base
	}
}

// moments returns the numerator and the denominator that one group adds to the
// estimate of c² or ρ.
func moments(kind Kind, s Sums) (over, base float64) {
	r := s.Rate()
	scatter := s.residual()
	a := s.T - s.TT/s.T
	u := s.TT / (s.T * s.T)
	b := s.TT - 2*s.TTT/s.T + s.TT*u
	if kind == Rate {
		over = scatter - r*a
		return over, b*(s.K*s.K-s.K)/(s.T*s.T) - u*over
	}
	pq := r * math.Max(0, 1-r)
	over = (1-1/s.T)*scatter - pq*a
	return over, pq*(b-a) + (u-1/s.T)*scatter
}

// phi is the dispersion of one group when c² or ρ is value.
func phi(kind Kind, s Sums, value float64) float64 {
	if s.N == 0 {
		return 1
	}
	size := s.TT / s.T
	if kind == Rate {
		return 1 + value*s.Rate()*size
	}
	return 1 + math.Min(1, value)*math.Max(0, size-1)
}
