package stat

import (
	"fmt"
	"math"
)

// AmountInterval is the interval for a mean amount per unit of exposure, such
// as minutes per hour, from the sums of amounts (K) and exposures of a group.
//
// The estimate r = K/T has the linearised variance
//
//	v = N/(N − 1) · Σ(k − rt)²/T²
//
// (Cochran 1977, Sampling Techniques, 3rd ed., §6). The interval is
// r·exp(±t·√v/r) with Student's quantile for N − 1 degrees of freedom, that is,
// symmetric for log r. Amounts are skewed, and r ± t√v would miss too often: in
// simulations with 4 to 15 clusters it covered 86–94 % instead of 95 %, the
// logarithmic one 93–96 %.
//
// With one cluster, or without any scatter, the data do not say how clusters
// differ; the interval is then (0, +Inf). No exposure is ErrNoExposure.
func AmountInterval(s Sums, conf float64) (Interval, error) {
	if err := CheckProbability("confidence level", conf); err != nil {
		return Interval{}, err
	}
	if err := s.checkAmounts(); err != nil {
		return Interval{}, err
	}
	return around(s.Rate(), s.relativeVariance(), float64(s.N-1), conf), nil
}

// RatioOfAmounts compares two mean amounts per unit of exposure on the log
// scale, where their relative variances v/r² add up. Student's quantile has
// the degrees of freedom of the group with fewer clusters, N − 1: those of
// Welch and Satterthwaite let false findings rise to 7 % with skewed amounts
// in simulations, these to 5.5 %. Without scatter, or without any amount, in
// one group the interval is (0, +Inf) and p is 1. ErrNoEvents when there is no
// amount in either group, ErrNoExposure when a group has no exposure.
func RatioOfAmounts(a, b Sums, conf float64) (Comparison, error) {
	if err := CheckProbability("confidence level", conf); err != nil {
		return Comparison{}, fmt.Errorf("comparing two amounts: %w", err)
	}
	for i, s := range []Sums{a, b} {
		if err := s.checkAmounts(); err != nil {
			return Comparison{}, fmt.Errorf("comparing two amounts: group %d: %w", i+1, err)
		}
	}
	if a.K == 0 && b.K == 0 {
		return Comparison{}, fmt.Errorf("comparing two amounts: %w", ErrNoEvents)
	}
	ratio := quotient(a.Rate(), b.Rate())
	variance := a.relativeVariance() + b.relativeVariance()
	df := float64(min(a.N, b.N) - 1)
	c := Comparison{Ratio: ratio, Interval: around(ratio, variance, df, conf), P: 1}
	if variance > 0 && df > 0 && Finite(variance) {
		c.P = StudentTwoSided(math.Log(ratio)/math.Sqrt(variance), df)
	}
	return c, nil
}

// checkAmounts is check for a group that must not be empty.
func (s Sums) checkAmounts() error {
	if s.N == 0 {
		return ErrNoExposure
	}
	return s.check()
}

// relativeVariance is v/r², +Inf where it is not known.
func (s Sums) relativeVariance() float64 {
	n := float64(s.N)
	scatter := s.residual()
	if s.N < 2 || s.K == 0 || scatter == 0 {
		return math.Inf(1)
	}
	return n / (n - 1) * scatter / (s.K * s.K)
}

// around is the interval about a positive value with the given variance of its
// logarithm.
func around(value, variance, df, conf float64) Interval {
	if !Finite(variance) || df < 1 {
		return Interval{High: math.Inf(1)}
	}
	half := StudentUpper((1-conf)/2, df) * math.Sqrt(variance)
	return Interval{Low: value * math.Exp(-half), High: value * math.Exp(half)}
}
