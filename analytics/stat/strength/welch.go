package strength

import (
	"math"

	"rigtally/analytics/stat"
)

// MeanDifference compares two means.
type MeanDifference struct {
	Difference float64 // of X over Y
	SE         float64
	T, DF      float64
	P          float64 // two-sided
	stat.Interval
}

// Welch compares two means that need not scatter alike (Welch 1947, Biometrika
// 34:28), with the degrees of freedom of Satterthwaite (1946). With several
// strata the difference is the weighted mean of those within each, its variance
// the sum of theirs, and the degrees of freedom follow in the same way; one
// stratum is the textbook test. Conf is the confidence level. Fewer than two
// values in a sample are ErrTooFew; samples that do not scatter at all are
// ErrNoScatter.
func Welch(conf float64, strata ...Stratum) (MeanDifference, error) {
	if err := stat.CheckProbability("confidence level", conf); err != nil {
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
	d.P = stat.StudentTwoSided(d.T, df)
	half := stat.StudentUpper((1-conf)/2, df) * d.SE
	d.Low, d.High = d.Difference-half, d.Difference+half
	return d, nil
}
