package regress

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrFewClusters reports too few clusters for a cluster-robust variance.
var ErrFewClusters = errors.New("too few clusters")

// Scores gathers the scores x·(y−μ) of each cluster for the sandwich variance
// of Liang & Zeger (1986, Biometrika 73:13). Rows may come in any order and may
// be summed within a cluster. The first bad row makes Cov fail.
type Scores struct {
	fit      *Fit
	stride   int       // P scores and a count of rows for each cluster
	sums     []float64 // clusters·stride
	rows     int
	cells    *sparseRows
	cellRate []float64
	err      error
}

// NewScores starts an accumulator for clusters numbered 0 to clusters−1, of rows
// whose covariates are the rows of cells. Numbers without rows do not count as clusters.
func NewScores(fit *Fit, cells *Design, clusters int) (*Scores, error) {
	if err := cells.check(); err != nil {
		return nil, fmt.Errorf("prepare cluster scores: %w", err)
	}
	if cells.P != len(fit.Coef) {
		return nil, fmt.Errorf("prepare cluster scores: cells have %d columns, the fit %d", cells.P, len(fit.Coef))
	}
	stride := cells.P + 1
	s := &Scores{fit: fit, stride: stride, sums: make([]float64, max(0, clusters)*stride), cells: newSparseRows(cells), cellRate: make([]float64, cells.Rows())}
	for i := range s.cellRate {
		s.cellRate[i] = math.Exp(s.cells.dot(i, fit.Coef))
	}
	return s, nil
}

// Add adds a row with the covariates of one cell.
func (s *Scores) Add(cluster, cell int, y, exposure float64) {
	if cell < 0 || cell >= len(s.cellRate) {
		s.fail(fmt.Errorf("row %d has cell %d of %d", s.rows, cell, len(s.cellRate)))
		return
	}
	sums := s.of(cluster)
	if sums == nil {
		return
	}
	r := y - exposure*s.cellRate[cell]
	if math.IsNaN(r) || math.IsInf(r, 0) {
		s.fail(fmt.Errorf("row %d has count %g and exposure %g", s.rows, y, exposure))
	}
	col, val := s.cells.row(cell)
	for k, j := range col {
		sums[j] += r * val[k]
	}
	sums[s.stride-1]++
	s.rows++
}

// of is the memory of a cluster, or nil when there is no such cluster.
func (s *Scores) of(cluster int) []float64 {
	at := cluster * s.stride
	if cluster < 0 || at >= len(s.sums) {
		s.fail(fmt.Errorf("row %d has cluster %d of %d", s.rows, cluster, len(s.sums)/s.stride))
		return nil
	}
	return s.sums[at : at+s.stride]
}

func (s *Scores) fail(err error) {
	if s.err == nil {
		s.err = err
	}
}

// Clusters is the number of clusters with rows.
func (s *Scores) Clusters() int {
	n := 0
	for at := s.stride - 1; at < len(s.sums); at += s.stride {
		if s.sums[at] > 0 {
			n++
		}
	}
	return n
}

// Cov is the cluster-robust covariance of the coefficients with the factor
// G/(G−1)·(n−1)/(n−p) of R's sandwich::vcovCL(type = "HC1"): G clusters, n
// observations, p coefficients. Rows and columns of aliased coefficients are 0.
// It returns ErrFewClusters below two clusters.
func (s *Scores) Cov() (*mat.SymDense, error) {
	if s.err != nil {
		return nil, fmt.Errorf("cluster-robust variance: %w", s.err)
	}
	g, p := s.Clusters(), s.fit.Rank()
	if g < 2 {
		return nil, fmt.Errorf("cluster-robust variance from %d: %w", g, ErrFewClusters)
	}
	if s.rows <= p {
		return nil, fmt.Errorf("cluster-robust variance: %d observations for %d coefficients", s.rows, p)
	}
	meat := mat.NewSymDense(s.stride-1, s.meat())
	n := float64(s.rows)
	meat.ScaleSym(float64(g)/float64(g-1)*(n-1)/(n-float64(p)), meat)
	return sandwich(s.fit.Cov, meat), nil
}

// meat is the upper triangle of Σ s·s' over clusters.
func (s *Scores) meat() []float64 {
	p := s.stride - 1
	meat := make([]float64, p*p)
	for at := 0; at < len(s.sums); at += s.stride {
		score := s.sums[at : at+p]
		for i, v := range score {
			if v == 0 {
				continue
			}
			line := meat[i*p : (i+1)*p]
			for j := i; j < p; j++ {
				line[j] += v * score[j]
			}
		}
	}
	return meat
}
