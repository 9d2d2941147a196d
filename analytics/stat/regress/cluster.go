package regress

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrFewClusters reports too few clusters for a cluster-robust variance.
var ErrFewClusters = errors.New("too few clusters")

// Rows are what a fit is judged by: rows whose covariates are those of cells, each in
// one of the clusters, which are independent. They may come in any order and
// may be summed within a cluster.
type Rows struct {
	Cells    *Design
	Clusters int // numbered from 0; numbers without rows do not count
	// All calls add for every row.
	All func(add func(cluster, cell int, y, exposure float64))
}

// each calls f for every row. It returns what is wrong with the first bad one.
func (r Rows) each(f func(cluster, cell int, y, exposure float64)) error {
	n, cells := 0, r.Cells.Rows()
	var bad error
	r.All(func(cluster, cell int, y, exposure float64) {
		n++
		switch {
		case bad != nil:
		case cell < 0 || cell >= cells:
			bad = fmt.Errorf("row %d has cell %d of %d", n, cell, cells)
		case cluster < 0 || cluster >= r.Clusters:
			bad = fmt.Errorf("row %d has cluster %d of %d", n, cluster, r.Clusters)
		case !(exposure >= 0) || math.IsInf(exposure, 0) || math.IsNaN(y) || math.IsInf(y, 0):
			bad = fmt.Errorf("row %d has count %g and exposure %g", n, y, exposure)
		default:
			f(cluster, cell, y, exposure)
		}
	})
	return bad
}

// visit calls f for every row with its fitted count mu. It returns what is wrong with the first bad row.
func (r Rows) visit(fit *Fit, f func(cluster, cell int, y, mu float64)) error {
	if err := r.Cells.check(); err != nil {
		return err
	}
	if r.Cells.P != len(fit.Coef) {
		return fmt.Errorf("cells have %d columns, the fit %d", r.Cells.P, len(fit.Coef))
	}
	rate := make([]float64, r.Cells.Rows())
	for i := range rate {
		rate[i] = fit.Rate(r.Cells.Row(i))
	}
	return r.each(func(cluster, cell int, y, exposure float64) { f(cluster, cell, y, exposure*rate[cell]) })
}

// HC1 judges contrasts by the sandwich variance of Liang & Zeger (1986, Biometrika
// 73:13), made of the scores x·(y−μ) of each cluster, with the factor
// G/(G−1)·(n−1)/(n−p) of R's sandwich::vcovCL(type = "HC1"): G clusters, n
// rows, p coefficients; on G−1 degrees of freedom. Rows and columns of aliased
// coefficients are 0. It returns ErrFewClusters below two clusters.
func HC1(fit *Fit, rows Rows) (*FixedDF, error) {
	p := len(fit.Coef)
	scores, count := make([]float64, max(0, rows.Clusters)*p), make([]int, max(0, rows.Clusters))
	var cells *sparseRows
	err := rows.visit(fit, func(cluster, cell int, y, mu float64) {
		if cells == nil {
			cells = newSparseRows(rows.Cells)
		}
		score := scores[cluster*p : (cluster+1)*p]
		col, val := cells.row(cell)
		for k, j := range col {
			score[j] += (y - mu) * val[k]
		}
		count[cluster]++
	})
	if err != nil {
		return nil, fmt.Errorf("cluster-robust variance: %w", err)
	}
	n, g := 0, 0
	meat := make([]float64, p*p)
	for cluster, c := range count {
		if c == 0 {
			continue
		}
		n, g = n+c, g+1
		addUpper(meat, scores[cluster*p:(cluster+1)*p], 1)
	}
	if g < 2 {
		return nil, fmt.Errorf("cluster-robust variance from %d: %w", g, ErrFewClusters)
	}
	if n <= fit.Rank() {
		return nil, fmt.Errorf("cluster-robust variance: %d rows for %d coefficients", n, fit.Rank())
	}
	sum := mat.NewSymDense(p, meat)
	sum.ScaleSym(float64(g)/float64(g-1)*float64(n-1)/float64(n-fit.Rank()), sum)
	return &FixedDF{fit: fit, cov: congruent(fit.Cov, sum), df: float64(g - 1)}, nil
}

// addUpper adds w·x·x' to the upper triangle of the matrix a.
func addUpper(a, x []float64, w float64) {
	p := len(x)
	for i, v := range x {
		if v == 0 {
			continue
		}
		line := a[i*p : (i+1)*p]
		for j := i; j < p; j++ {
			line[j] += w * v * x[j]
		}
	}
}
