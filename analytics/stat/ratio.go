package stat

import (
	"fmt"
	"math"
)

// Comparison sets one group beside another.
type Comparison struct {
	// Ratio is that of the first group to the second: 0 without events in the
	// first, +Inf without events in the second.
	Ratio float64
	// Interval is for the ratio; its upper limit is +Inf without events in the
	// second group.
	Interval
	// P is the two-sided p-value for a ratio of 1.
	P float64
}

// checkPair validates the two groups of a comparison with check.
func checkPair(check func(k, t float64) error, k1, t1, k2, t2, conf float64) error {
	if err := CheckProbability("confidence level", conf); err != nil {
		return err
	}
	if err := check(k1, t1); err != nil {
		return fmt.Errorf("first group: %w", err)
	}
	if err := check(k2, t2); err != nil {
		return fmt.Errorf("second group: %w", err)
	}
	if k1 == 0 && k2 == 0 {
		return ErrNoEvents
	}
	return nil
}

// RatioOfRates compares two rates, k1 events in exposure t1 with k2 in t2, by
// the exact conditional method (Przyborowski & Wilenski 1940, Biometrika
// 31:313): given k1 + k2, the share of k1 is binomial, its Clopper–Pearson
// limits π turn into limits π/(1 − π) · t2/t1 of the ratio, and p is twice the
// smaller exact tail, at most 1, which agrees with the interval (central p; Fay
// 2010, R Journal 2:53). Counts and exposures may be effective ones.
// ErrNoEvents when both counts are 0, ErrNoExposure when an exposure is.
func RatioOfRates(k1, t1, k2, t2, conf float64) (Comparison, error) {
	if err := checkPair(CheckEvents, k1, t1, k2, t2, conf); err != nil {
		return Comparison{}, fmt.Errorf("comparing two rates: %w", err)
	}
	tail := (1 - conf) / 2
	c := Comparison{Ratio: quotient(k1/t1, k2/t2), Interval: Interval{High: math.Inf(1)}}
	if k1 > 0 {
		c.Low = betaOdds(tail, k1, k2+1) * (t2 / t1)
	}
	if k2 > 0 {
		c.High = betaOdds(1-tail, k1+1, k2) * (t2 / t1)
	}
	c.P = math.Min(1, 2*math.Min(upperTail(k1, t1, k2, t2), upperTail(k2, t2, k1, t1)))
	return c, nil
}

// upperTail is the exact conditional probability of at least k1 of k1 + k2
// events in the first group, when both have the same rate.
func upperTail(k1, t1, k2, t2 float64) float64 {
	if k1 == 0 {
		return 1
	}
	return incompleteBeta(k1, k2+1, t1/(t1+t2))
}

// quotient is a/b for rates that are not both 0.
func quotient(a, b float64) float64 {
	if b == 0 {
		return math.Inf(1)
	}
	return a / b
}
