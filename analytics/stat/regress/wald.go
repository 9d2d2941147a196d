package regress

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// WaldTest is the joint test of several contrasts.
type WaldTest struct {
	F   float64
	DF1 float64 // number of independent contrasts
	DF2 float64 // +Inf when F·DF1 was compared with χ²
	P   float64
}

// Wald implements Tester: F = (Lb)'(L·Cov·L')⁻¹(Lb)/q on q and df degrees of
// freedom (χ²/q when df is +Inf), q the number of independent contrasts
// (Wald 1943, Trans AMS 54:426). It returns ErrFewClusters when the covariance
// has no rank for them.
func (f *FixedDF) Wald(contrasts [][]float64) (WaldTest, error) {
	set, err := newContrastSet(f.fit, contrasts)
	if err != nil {
		return WaldTest{}, fmt.Errorf("Wald test: %w", err)
	}
	q2, err := set.statistic(f.cov)
	if err != nil {
		return WaldTest{}, fmt.Errorf("Wald test: %w", err)
	}
	q := float64(len(set.rows))
	return newWaldTest(q2/q, q, f.df), nil
}

func newWaldTest(stat, df1, df2 float64) WaldTest {
	t := WaldTest{F: stat, DF1: df1, DF2: df2}
	if math.IsInf(df2, 1) {
		t.P = distuv.ChiSquared{K: df1}.Survival(stat * df1)
	} else {
		t.P = mathext.RegIncBeta(df2/2, df1/2, df2/(df2+df1*stat))
	}
	return t
}

// contrastSet is a set of linearly independent contrasts with their estimates.
type contrastSet struct {
	rows      [][]float64
	estimates []float64
}

// newContrastSet leaves out contrasts that are combinations of earlier ones.
func newContrastSet(fit *Fit, contrasts [][]float64) (*contrastSet, error) {
	for i, c := range contrasts {
		if err := estimable(fit, c); err != nil {
			return nil, fmt.Errorf("contrast %d: %w", i, err)
		}
	}
	q := len(contrasts)
	cross := make([]float64, q*q)
	for i, a := range contrasts {
		for j, b := range contrasts {
			cross[i*q+j] = dotProduct(a, b)
		}
	}
	set := &contrastSet{}
	for _, i := range keptColumns(q, dependentColumns(cross, q)) {
		set.rows = append(set.rows, contrasts[i])
		set.estimates = append(set.estimates, dotProduct(contrasts[i], fit.Coef))
	}
	if len(set.rows) == 0 {
		return nil, errors.New("no contrast to test")
	}
	return set, nil
}

// statistic is e'·(L·cov·L')⁻¹·e for the estimates e.
func (s *contrastSet) statistic(cov mat.Symmetric) (float64, error) {
	q := len(s.rows)
	l := mat.NewDense(q, cov.SymmetricDim(), nil)
	for i, c := range s.rows {
		l.SetRow(i, c)
	}
	variance := congruent(l.T(), cov)
	upper := make([]float64, q*q)
	for i := range q {
		for j := i; j < q; j++ {
			upper[i*q+j] = variance.At(i, j)
		}
	}
	if drop := dependentColumns(upper, q); len(drop) > 0 {
		return 0, fmt.Errorf("the covariance has rank %d for %d contrasts: %w", q-len(drop), q, ErrFewClusters)
	}
	var chol mat.Cholesky
	if !chol.Factorize(variance) {
		return 0, fmt.Errorf("the covariance of the contrasts is singular: %w", ErrFewClusters)
	}
	e := mat.NewVecDense(q, s.estimates)
	var weighted mat.VecDense
	if err := chol.SolveVecTo(&weighted, e); solved(err) != nil {
		return 0, err
	}
	return mat.Dot(e, &weighted), nil
}
