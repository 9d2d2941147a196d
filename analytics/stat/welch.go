package stat

import "math"

// MeanDifference compares two means.
type MeanDifference struct {
	Difference float64 // of X over Y
	SE         float64
	T, DF      float64
	P          float64 // two-sided
	Interval
}

// Welch compares two means that need not scatter alike (Welch 1947, Biometrika
// 34:28), with the degrees of freedom of Satterthwaite (1946). With several
// strata the difference is the weighted mean of those within each, its variance
// the sum of theirs, and the degrees of freedom follow in the same way; one
// stratum is the textbook test. Conf is the confidence level. Fewer than two
// values in a sample are ErrTooFew; samples that do not scatter at all are
// ErrNoScatter.
func Welch(conf float64, strata ...Stratum) (MeanDifference, error) {
	if err := checkProbability("confidence level", conf); err != nil {
		return MeanDifference{}, err
	}
	w, err := weigh(strata)
	if err != nil {
		return MeanDifference{}, err
	}
	variance, df := w.satterthwaite(1)
	if !(variance > 0) {
		return MeanDifference{}, ErrNoScatter
	}
	d := MeanDifference{Difference: w.x - w.y, SE: math.Sqrt(variance), DF: df}
	d.T = d.Difference / d.SE
	d.P = studentTwoSided(d.T, df)
	half := studentUpper((1-conf)/2, df) * d.SE
	d.Low, d.High = d.Difference-half, d.Difference+half
	return d, nil
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
	if !(ratio > 0) || !finite(ratio) || !(spread >= 0) || !finite(spread) {
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
		t := studentUpper(alpha/2, df) + studentUpper(1-power, df)
		if float64(n) >= t*t*spread/(math.Log(ratio)*math.Log(ratio)) {
			return n, nil
		}
	}
}
