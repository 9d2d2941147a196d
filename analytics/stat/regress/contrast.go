package regress

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics/stat"
)

// ErrNotEstimable reports a contrast that uses an aliased coefficient.
var ErrNotEstimable = errors.New("the contrast uses a coefficient that the data cannot tell from others")

// ErrNoSpread reports a contrast whose variance came out as zero, so that
// nothing is known of its precision.
var ErrNoSpread = errors.New("the contrast has no variance between clusters")

// Tester judges linear combinations of the coefficients of one fit.
type Tester interface {
	// Contrast judges the sum of c[j]·coefficient j.
	Contrast(c []float64) (Contrast, error)
	// Wald tests that all of the given contrasts are zero together.
	Wald(contrasts [][]float64) (WaldTest, error)
	// Covariance is that of the coefficients.
	Covariance() mat.Symmetric
}

// Contrast is an estimated linear combination of coefficients, on the log scale
// for a Poisson.
type Contrast struct {
	Estimate float64
	SE       float64
	DF       float64 // degrees of freedom of Student's t; +Inf for the normal
}

// Interval is the two-sided interval at a level in (0, 1).
func (c Contrast) Interval(level float64) (low, high float64) {
	half := studentQuantile(0.5+level/2, c.DF) * c.SE
	return c.Estimate - half, c.Estimate + half
}

// Ratio is the interval of its exponential.
func (c Contrast) Ratio(level float64) stat.Interval {
	low, high := c.Interval(level)
	return stat.Interval{Low: math.Exp(low), High: math.Exp(high)}
}

// P is the two-sided p value of the combination being null.
func (c Contrast) P(null float64) float64 {
	return min(1, 2*stat.StudentSurvival(math.Abs(c.Estimate-null)/c.SE, c.DF))
}

func studentQuantile(p, df float64) float64 {
	if math.IsInf(df, 1) {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(p)
}

// FixedDF judges contrasts with one covariance and one number of degrees of
// freedom for all, such as HC1 with clusters − 1.
type FixedDF struct {
	fit *Fit
	cov *mat.SymDense // P×P
	df  float64       // above 0; +Inf for the normal distribution
}

// Covariance implements Tester.
func (f *FixedDF) Covariance() mat.Symmetric { return f.cov }

// Contrast implements Tester.
func (f *FixedDF) Contrast(c []float64) (Contrast, error) {
	if err := estimable(f.fit, c); err != nil {
		return Contrast{}, err
	}
	return newContrast(dotProduct(c, f.fit.Coef), quadratic(f.cov, c), f.df)
}

func newContrast(estimate, variance, df float64) (Contrast, error) {
	if !(variance > 0) || math.IsInf(variance, 1) || !(df > 0) {
		return Contrast{}, ErrNoSpread
	}
	return Contrast{Estimate: estimate, SE: math.Sqrt(variance), DF: df}, nil
}

func estimable(fit *Fit, c []float64) error {
	if len(c) != len(fit.Coef) {
		return fmt.Errorf("contrast has %d entries, the fit %d coefficients", len(c), len(fit.Coef))
	}
	for _, j := range fit.Aliased {
		if c[j] != 0 {
			return fmt.Errorf("coefficient %d: %w", j, ErrNotEstimable)
		}
	}
	return nil
}
