package regress

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// NormalDraws draws n vectors from the multivariate normal distribution with the
// given mean and covariance, which may be singular, through the eigenvalues of
// the covariance. The same seed gives the same draws.
func NormalDraws(mean []float64, cov mat.Symmetric, n int, seed uint64) (*mat.Dense, error) {
	p := cov.SymmetricDim()
	if len(mean) != p || n < 1 {
		return nil, fmt.Errorf("normal draws: %d draws of %d means with a %d×%d covariance", n, len(mean), p, p)
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(cov, true) {
		return nil, errors.New("normal draws: the covariance has no eigenvalues")
	}
	var root mat.Dense
	eigen.VectorsTo(&root)
	scale := eigen.Values(nil)
	largest := scale[p-1]
	for k, v := range scale {
		if v < -1e-8*math.Abs(largest) {
			return nil, fmt.Errorf("normal draws: the covariance has a negative eigenvalue %g", v)
		}
		scale[k] = math.Sqrt(max(0, v))
	}
	root.Apply(func(_, k int, v float64) float64 { return v * scale[k] }, &root)

	random := rand.New(rand.NewPCG(seed, 0))
	numbers := make([]float64, n*p)
	for i := range numbers {
		numbers[i] = random.NormFloat64()
	}
	noise := mat.NewDense(n, p, numbers)
	draws := mat.NewDense(n, p, nil)
	draws.Mul(noise, root.T())
	draws.Apply(func(_, j int, v float64) float64 { return v + mean[j] }, draws)
	return draws, nil
}

// ChanceLowest is, for each candidate row of covariates, the share of n draws of
// the coefficients (normal with the fit's estimates and the given covariance) in
// which its linear predictor, and so its rate, is the lowest. Candidates that
// tie share the draw. The shares sum to 1. Only the coefficients of columns in which
// candidates differ are drawn, since the others move all of them alike.
func ChanceLowest(fit *Fit, cov mat.Symmetric, candidates [][]float64, n int, seed uint64) ([]float64, error) {
	if len(candidates) == 0 {
		return nil, errors.New("chance of the lowest rate: no candidates")
	}
	for i, row := range candidates {
		if err := estimable(fit, row); err != nil {
			return nil, fmt.Errorf("chance of the lowest rate, candidate %d: %w", i, err)
		}
	}
	columns := differing(candidates)
	if len(columns) == 0 {
		columns = []int{0} // any will do: all tie
	}
	x := mat.NewDense(len(candidates), len(columns), nil)
	mean := make([]float64, len(columns))
	among := mat.NewSymDense(len(columns), nil)
	for k, j := range columns {
		mean[k] = fit.Coef[j]
		for l := range k + 1 {
			among.SetSym(k, l, cov.At(j, columns[l]))
		}
		for i, row := range candidates {
			x.Set(i, k, row[j])
		}
	}
	draws, err := NormalDraws(mean, among, n, seed)
	if err != nil {
		return nil, fmt.Errorf("chance of the lowest rate: %w", err)
	}
	var predictors mat.Dense
	predictors.Mul(draws, x.T())
	chance := make([]float64, len(candidates))
	for i := range n {
		addLowest(chance, predictors.RawRowView(i), 1/float64(n))
	}
	return chance, nil
}

// differing lists the columns in which rows, all of the same length, are not all alike.
func differing(rows [][]float64) []int {
	var list []int
	for j, first := range rows[0] {
		if slices.ContainsFunc(rows, func(row []float64) bool { return row[j] != first }) {
			list = append(list, j)
		}
	}
	return list
}

// addLowest shares weight between the lowest entries of row.
func addLowest(chance, row []float64, weight float64) {
	lowest, ties := math.Inf(1), 0
	for _, v := range row {
		switch {
		case v < lowest:
			lowest, ties = v, 1
		case v == lowest:
			ties++
		}
	}
	for j, v := range row {
		if v == lowest {
			chance[j] += weight / float64(ties)
		}
	}
}
