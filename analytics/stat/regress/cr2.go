package regress

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrOneCluster reports a contrast that rests on a single cluster, whose
// variation between clusters is unknowable.
var ErrOneCluster = errors.New("the contrast rests on a single cluster")

// wholeLeverage is how near 1 the leverage of a cluster along a direction must
// be for that direction to be known from the cluster alone.
const wholeLeverage = 1e-8

// cr2Block is what the bias-reduced variance needs of a cluster: its scores and its
// part of the information. Summing rows with equal covariates changes nothing.
type cr2Block struct {
	rows  int
	score []float64 // X'(y−μ), kept columns
	thin  []float64 // √W·X row by row, while there are no more rows than columns
	info  []float64 // X'WX, upper triangle, from then on
}

func (b *cr2Block) add(x []float64, y, mu float64) {
	p := len(x)
	if b.score == nil {
		b.score, b.thin = make([]float64, p), make([]float64, 0, 3*p)
	}
	for i, v := range x {
		b.score[i] += (y - mu) * v
	}
	b.rows++
	if b.rows > p && b.info == nil { // from here on the columns are fewer
		b.info = make([]float64, p*p)
		for row := range b.rows - 1 {
			addUpper(b.info, b.thin[row*p:(row+1)*p], 1)
		}
		b.thin = nil
	}
	if b.info != nil {
		addUpper(b.info, x, mu)
		return
	}
	root := math.Sqrt(mu)
	for _, v := range x {
		b.thin = append(b.thin, root*v)
	}
}

// CR2 is the bias-reduced cluster-robust variance with the means to find the
// degrees of freedom of each contrast. It implements Tester.
type CR2 struct {
	cov      *mat.SymDense // P×P, rows and columns of aliased coefficients are 0
	fit      *Fit
	kept     []int
	root     *mat.Dense // L with L·L' = model covariance, kept columns
	leverage []leverage
}

// leverage is the eigen-decomposition of a cluster's share T = L'·X'WX·L of the
// information, without the eigenvalues that are 0: a cluster of few rows has few.
type leverage struct {
	vectors *mat.Dense // a column each
	values  []float64  // 0 to 1
	inverse []float64  // (1−value)^(−1/2), 0 where the cluster alone decides
}

// NewCR2 computes the variance: with rows scaled by √μ the model is, at
// convergence, a least-squares fit with unit working variance, and the residuals
// of each cluster are multiplied by (I−H)^(−1/2), H its block of the hat matrix,
// so that the sandwich is unbiased when the working variance holds (Bell &
// McCaffrey 2002, Survey Methodology 28:169; Pustejovsky & Tipton 2018, J Bus
// Econ Stat 36:672). H has rank p, so all is done in p×p through
// X'(I−H)^(−1/2)e = L'⁻¹(I−T)^(−1/2)L'X'e.
//
// R's clubSandwich takes another square root for a glm whose fitted values
// differ within a cluster, one that changes when rows are summed; it agrees
// exactly when given the scaled rows as a linear model.
//
// It returns ErrFewClusters below two clusters.
func NewCR2(fit *Fit, rows Rows) (*CR2, error) {
	kept := keptColumns(len(fit.Coef), fit.Aliased)
	blocks, row := make([]cr2Block, max(0, rows.Clusters)), make([]float64, len(kept))
	err := rows.visit(fit, func(cluster, cell int, y, mu float64) {
		x := rows.Cells.Row(cell)
		for k, j := range kept {
			row[k] = x[j]
		}
		blocks[cluster].add(row, y, mu)
	})
	if err != nil {
		return nil, fmt.Errorf("bias-reduced variance: %w", err)
	}
	return newCR2(fit, kept, pick(fit.Cov, kept), blocks)
}

// newCR2 takes the clusters' scores and information, and the inverse of the sum of the latter.
func newCR2(fit *Fit, kept []int, bread *mat.SymDense, blocks []cr2Block) (*CR2, error) {
	p := len(kept)
	root, err := lowerRoot(bread)
	if err != nil {
		return nil, fmt.Errorf("bias-reduced variance: %w", err)
	}
	v := &CR2{fit: fit, kept: kept, root: root}
	sum := mat.NewSymDense(p, nil)
	for i := range blocks {
		b := &blocks[i]
		if b.rows == 0 {
			continue
		}
		h, err := b.leverage(root)
		if err != nil {
			return nil, fmt.Errorf("bias-reduced variance, cluster %d: %w", i, err)
		}
		var scaled mat.VecDense
		scaled.MulVec(root.T(), mat.NewVecDense(p, b.score))
		sum.SymRankOne(sum, 1, h.adjust(&scaled))
		v.leverage = append(v.leverage, h)
	}
	if len(v.leverage) < 2 {
		return nil, fmt.Errorf("bias-reduced variance from %d: %w", len(v.leverage), ErrFewClusters)
	}
	v.cov = spread(congruent(root.T(), sum), kept, len(fit.Coef))
	return v, nil
}

// Covariance implements Tester.
func (v *CR2) Covariance() mat.Symmetric { return v.cov }

// lowerRoot is the Cholesky factor L of a = L·L'.
func lowerRoot(a *mat.SymDense) (*mat.Dense, error) {
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return nil, fmt.Errorf("the model covariance is singular: %w", ErrNotConverged)
	}
	var l mat.TriDense
	chol.LTo(&l)
	return mat.DenseCopyOf(&l), nil
}

// leverage decomposes T = (√W·X·L)'·(√W·X·L) by way of the smaller of it and of
// (√W·X·L)·(√W·X·L)', which have the same eigenvalues but for zeros.
func (b *cr2Block) leverage(root *mat.Dense) (leverage, error) {
	p, _ := root.Dims()
	if b.rows > p {
		h, err := newLeverage(congruent(root, mat.NewSymDense(p, b.info)))
		return h, err
	}
	var along mat.Dense // √W·X·L
	along.Mul(mat.NewDense(b.rows, p, b.thin), root)
	outer := mat.NewSymDense(b.rows, nil)
	outer.SymOuterK(1, &along)
	h, err := newLeverage(outer)
	if err != nil {
		return h, err
	}
	// An eigenvector u of the outer product is one of T as (√W·X·L)'u/√value.
	for k, value := range h.values {
		for i := range b.rows {
			h.vectors.Set(i, k, h.vectors.At(i, k)/math.Sqrt(value))
		}
	}
	var vectors mat.Dense
	vectors.Mul(along.T(), h.vectors)
	h.vectors = &vectors
	return h, nil
}

// noLeverage is how small an eigenvalue is taken for 0: leaving it out changes
// the residuals by half of it.
const noLeverage = 1e-13

func newLeverage(share *mat.SymDense) (leverage, error) {
	values, vectors, err := eigenSym(share)
	if err != nil {
		return leverage{}, err
	}
	n := len(values)
	first := 0 // they come in order
	for first < n-1 && values[first] <= noLeverage {
		first++
	}
	h := leverage{values: values[first:], vectors: mat.DenseCopyOf(vectors.Slice(0, n, first, n))}
	h.inverse = make([]float64, len(h.values))
	for k, value := range h.values {
		h.values[k] = min(1, max(noLeverage, value))
		if left := 1 - value; left > wholeLeverage {
			h.inverse[k] = 1 / math.Sqrt(left)
		}
	}
	return h, nil
}

// eigenSym is the eigen-decomposition of a symmetric matrix, values upward.
func eigenSym(a *mat.SymDense) ([]float64, *mat.Dense, error) {
	if a.SymmetricDim() == 1 { // a cluster of one row
		return []float64{a.At(0, 0)}, mat.NewDense(1, 1, []float64{1}), nil
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(a, true) {
		return nil, nil, errors.New("no eigenvalues found")
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	return eigen.Values(nil), &vectors, nil
}

// adjust is (I−T)^(−1/2)·x.
func (h *leverage) adjust(x *mat.VecDense) *mat.VecDense {
	var y, along, out mat.VecDense
	y.MulVec(h.vectors.T(), x)
	for k, inverse := range h.inverse {
		y.SetVec(k, (inverse-1)*y.AtVec(k))
	}
	along.MulVec(h.vectors, &y)
	out.AddVec(x, &along)
	return &out
}
