package stat

import (
	"fmt"
	"math"
)

// RatioOfShares compares two shares, k1 events in n1 trials with k2 in n2, by
// the score method: the interval holds every ratio θ whose score statistic
//
//	z(θ) = (k1/n1 − θk2/n2) / √(V·N/(N − 1)),  V = p₁q₁/n1 + θ²p₂q₂/n2
//
// is not beyond the normal quantile, where N = n1 + n2 and p₁ = θp₂, p₂ are the
// maximum-likelihood shares under that ratio. Without the factor N/(N − 1) it
// is the interval of Koopman (1984, Biometrics 40:513); with it that of
// Miettinen & Nurminen (1985, Statistics in Medicine 4:213), chosen because
// false findings among few trials stay closer to their nominal rate. P comes
// from z(1). Counts may be effective ones; with N ≤ 1 nothing is known: the
// interval is (0, +Inf) and p is 1. ErrNoEvents when both counts are 0,
// ErrNoExposure when a group has no trials.
func RatioOfShares(k1, n1, k2, n2, conf float64) (Comparison, error) {
	if err := checkPair(CheckTrials, k1, n1, k2, n2, conf); err != nil {
		return Comparison{}, fmt.Errorf("comparing two shares: %w", err)
	}
	s := shareScore{k1: math.Min(k1, n1), n1: n1, k2: math.Min(k2, n2), n2: n2, shrink: shrinkage(n1 + n2)}
	z := NormalUpper((1 - conf) / 2)
	ratio := quotient(s.k1/n1, s.k2/n2)
	return Comparison{
		Ratio:    ratio,
		Interval: s.interval(ratio, z),
		P:        NormalTwoSided(s.at(1)),
	}, nil
}

// shrinkage is √((N − 1)/N), the small-sample factor of Miettinen & Nurminen.
func shrinkage(n float64) float64 { return math.Sqrt(math.Max(0, 1-1/n)) }

// shareScore is the score statistic of two shares as a function of their ratio.
type shareScore struct {
	k1, n1, k2, n2 float64
	shrink         float64
}

// at returns z(θ), which falls as θ rises and is 0 at the observed ratio.
//
// Setting the derivative of the likelihood in p₂ to 0 under p₁ = θp₂ gives
// θNp² − (θ(n1 + k2) + k1 + n2)p + k1 + k2 = 0, of which the smaller root is
// the share; it is written so that nothing cancels.
func (s shareScore) at(theta float64) float64 {
	n := s.n1 + s.n2
	k := s.k1 + s.k2
	b := theta*(s.n1+s.k2) + s.k1 + s.n2
	root := math.Sqrt(math.Max(0, b*b-4*theta*n*k))
	p2 := math.Min(1, 2*k/(b+root))
	p1 := math.Min(1, theta*p2)
	difference := s.k1/s.n1 - theta*s.k2/s.n2
	variance := p1*(1-p1)/s.n1 + theta*theta*p2*(1-p2)/s.n2
	if difference == 0 || s.shrink == 0 {
		return 0
	}
	return difference / math.Sqrt(variance) * s.shrink
}

// interval returns the ratios at which the statistic crosses z and −z. Where
// it never does, the limit is 0 or +Inf.
func (s shareScore) interval(ratio, z float64) Interval {
	const far = 1e100 // ratios beyond it, or its inverse, are not searched
	start := ratio
	if start == 0 || math.IsInf(start, 1) {
		start = 1
	}
	i := Interval{High: math.Inf(1)}
	if s.k1 > 0 && s.at(start/far) > z {
		i.Low = Bisect(func(theta float64) bool { return s.at(theta) > z }, start/far, min(ratio, start*far))
	}
	if s.k2 > 0 && s.at(start*far) < -z {
		i.High = Bisect(func(theta float64) bool { return s.at(theta) >= -z }, max(ratio, start/far), start*far)
	}
	return i
}
