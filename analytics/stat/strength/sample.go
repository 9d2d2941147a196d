// Package strength describes and compares measured strengths, some of them known only to be larger than what was seen.
package strength

import (
	"errors"
	"fmt"
	"math"

	"rigtally/analytics/stat"
)

// ErrTooFew means that there are too few values to know how they scatter.
var ErrTooFew = errors.New("too few values to know how they scatter")

// Sample sums up values of one kind.
type Sample struct {
	N    int
	Mean float64
	SD   float64 // with n − 1; NaN for fewer than two values
}

// CV is the coefficient of variation, the standard deviation over the mean.
func (s Sample) CV() float64 { return s.SD / s.Mean }

// Describe sums up values. No values have neither mean nor spread.
func Describe(x []float64) (Sample, error) {
	s := Sample{N: len(x), Mean: math.NaN(), SD: math.NaN()}
	if len(x) == 0 {
		return s, nil
	}
	sum := 0.0
	for i, v := range x {
		if !stat.Finite(v) {
			return s, fmt.Errorf("value %d is %g: it must be a number", i+1, v)
		}
		sum += v
	}
	s.Mean = sum / float64(len(x))
	if len(x) > 1 {
		squares := 0.0
		for _, v := range x {
			squares += (v - s.Mean) * (v - s.Mean)
		}
		s.SD = math.Sqrt(squares / float64(len(x)-1))
	}
	return s, nil
}

// variance is that of the sample's mean.
func (s Sample) variance() float64 { return s.SD * s.SD / float64(s.N) }

// Stratum holds two samples that were taken alike but for what is compared.
type Stratum struct {
	X, Y   []float64
	Weight float64 // relative to the other strata; 0: mn/(m + n), which suits a common difference
}

// weighed is a pair of means over strata: Σwx̄ and Σwȳ with Σw = 1, and their
// variances, each a sum of terms with its own degrees of freedom.
type weighed struct {
	x, y           float64
	xTerms, yTerms []varianceTerm
	nx, ny         int
}

type varianceTerm struct{ variance, df float64 }

// weigh sums up strata. Every sample needs at least two values: ErrTooFew.
func weigh(strata []Stratum) (weighed, error) {
	var w weighed
	total := 0.0
	weights := make([]float64, len(strata))
	for i, s := range strata {
		m, n := float64(len(s.X)), float64(len(s.Y))
		if m < 2 || n < 2 {
			return w, ErrTooFew
		}
		weights[i] = s.Weight
		if s.Weight == 0 {
			weights[i] = m * n / (m + n)
		}
		if !(weights[i] > 0) || !stat.Finite(weights[i]) {
			return w, fmt.Errorf("weight of stratum %d is %g: it must be a positive number", i+1, s.Weight)
		}
		total += weights[i]
	}
	if len(strata) == 0 {
		return w, ErrTooFew
	}
	for i, s := range strata {
		x, err := Describe(s.X)
		if err != nil {
			return w, err
		}
		y, err := Describe(s.Y)
		if err != nil {
			return w, err
		}
		share := weights[i] / total
		w.x += share * x.Mean
		w.y += share * y.Mean
		w.xTerms = append(w.xTerms, varianceTerm{share * share * x.variance(), float64(x.N - 1)})
		w.yTerms = append(w.yTerms, varianceTerm{share * share * y.variance(), float64(y.N - 1)})
		w.nx, w.ny = w.nx+x.N, w.ny+y.N
	}
	return w, nil
}

func sumTerms(terms []varianceTerm) float64 {
	sum := 0.0
	for _, t := range terms {
		sum += t.variance
	}
	return sum
}

// satterthwaite is the degrees of freedom of the variance of Σwx̄ − ratio·Σwȳ
// (Satterthwaite 1946, Biometrics Bulletin 2:110).
func (w weighed) satterthwaite(ratio float64) (variance, df float64) {
	square := ratio * ratio
	below := 0.0
	for _, t := range w.xTerms {
		variance += t.variance
		below += t.variance * t.variance / t.df
	}
	for _, t := range w.yTerms {
		v := square * t.variance
		variance += v
		below += v * v / t.df
	}
	return variance, variance * variance / below
}

// MeanInterval is Student's interval of the mean; false for fewer than two values.
func (s Sample) MeanInterval(conf float64) (low, high float64, ok bool) {
	if s.N < 2 || !(conf > 0 && conf < 1) {
		return 0, 0, false
	}
	half := stat.StudentUpper((1-conf)/2, float64(s.N-1)) * math.Sqrt(s.variance())
	return s.Mean - half, s.Mean + half, true
}
