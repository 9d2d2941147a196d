package stat

import (
	"fmt"
	"math"
)

// ExposureNeededRates is the exposure each of two groups needs in all, split
// equally, for a two-sided test at level alpha to tell rates r1 and r2 apart
// with the given power, when the variance is phi times Poisson:
//
//	φ(z₁₋α⸝₂ + z_power)² / (2(√r1 − √r2)²)
//
// the square-root form behind the rule of thumb 4/(√r1 − √r2)² (van Belle 2008,
// Statistical Rules of Thumb, §2.12, section from memory). The unit is that of
// the rates' exposure. Equal rates are ErrNoDifference.
func ExposureNeededRates(r1, r2, phi, alpha, power float64) (float64, error) {
	if !(r1 >= 0 && r2 >= 0) || !Finite(r1) || !Finite(r2) {
		return 0, fmt.Errorf("planning for rates %g and %g: they must be zero or positive numbers", r1, r2)
	}
	z, err := planQuantiles(phi, alpha, power)
	if err != nil {
		return 0, err
	}
	return needed(phi*z*z/2, math.Sqrt(r1)-math.Sqrt(r2))
}

// ExposureNeededShares is the number of trials each of two groups needs in
// all, split equally, to tell shares p1 and p2 apart in the same sense:
//
//	n = 2φ(z₁₋α⸝₂ + z_power)²/h²,  h = 2 asin √p1 − 2 asin √p2
//
// (Cohen 1988, Statistical Power Analysis for the Behavioral Sciences, §6).
// Equal shares are ErrNoDifference.
func ExposureNeededShares(p1, p2, phi, alpha, power float64) (float64, error) {
	if !(p1 >= 0 && p1 <= 1 && p2 >= 0 && p2 <= 1) {
		return 0, fmt.Errorf("planning for shares %g and %g: they must lie between 0 and 1", p1, p2)
	}
	z, err := planQuantiles(phi, alpha, power)
	if err != nil {
		return 0, err
	}
	h := 2*math.Asin(math.Sqrt(p1)) - 2*math.Asin(math.Sqrt(p2))
	return needed(2*phi*z*z, h)
}

// PullsNeeded is the number of values that each of two samples needs in all for
// a two-sided t test at level alpha to tell means apart, one of which is ratio
// times the other, with the given power, when values scatter with coefficients
// of variation cv1 and cv2:
//
//	n = (t₁₋α⸝₂ + t_power)² (cv1² + cv2²) / (log ratio)²
//
// with Student quantiles for 2(n − 1) degrees of freedom, found by stepping n
// (Snedecor & Cochran 1989, Statistical Methods, §6.14, section from memory,
// with t for z). A ratio of 1 is ErrNoDifference.
func PullsNeeded(cv1, cv2, ratio, alpha, power float64) (int, error) {
	z, err := planQuantiles(1, alpha, power)
	if err != nil {
		return 0, err
	}
	spread := cv1*cv1 + cv2*cv2
	if !(ratio > 0) || !Finite(ratio) || !(spread >= 0) || !Finite(spread) {
		return 0, ErrNoDifference
	}
	first, err := needed(z*z*spread, math.Log(ratio))
	if err != nil {
		return 0, err
	}
	const most = 1e6
	if first > most {
		return 0, ErrNoDifference
	}
	for n := max(2, int(math.Ceil(first))); ; n++ {
		df := 2 * float64(n-1)
		t := StudentUpper(alpha/2, df) + StudentUpper(1-power, df)
		if float64(n) >= t*t*spread/(math.Log(ratio)*math.Log(ratio)) {
			return n, nil
		}
	}
}

// planQuantiles is z₁₋α⸝₂ + z_power.
func planQuantiles(phi, alpha, power float64) (float64, error) {
	if !(phi >= 1) || !Finite(phi) {
		return 0, fmt.Errorf("dispersion is %g: it must be at least 1", phi)
	}
	if err := CheckProbability("error rate", alpha); err != nil {
		return 0, err
	}
	if err := CheckProbability("power", power); err != nil {
		return 0, err
	}
	return NormalUpper(alpha/2) + NormalUpper(1-power), nil
}

// needed is the exposure at which a difference d stands out.
func needed(numerator, d float64) (float64, error) {
	n := numerator / (d * d)
	if d == 0 || !Finite(n) {
		return 0, ErrNoDifference
	}
	return n, nil
}
