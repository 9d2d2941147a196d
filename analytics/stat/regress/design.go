// Package regress fits count regressions, with variances that hold where clusters are few, and judges what follows from them.
package regress

import (
	"fmt"
	"math"
)

// Design holds the rows of a count regression, one event count and one
// exposure a row. Rows with equal covariates may be summed into one row (a
// cell) beforehand: coefficients and their model covariance stay the same,
// because counts and exposures enter the likelihood only through such sums.
type Design struct {
	P        int       // columns of X
	X        []float64 // covariates, row-major, len(Y)*P values
	Y        []float64 // events, real and at least 0
	Exposure []float64 // above 0, any one unit
}

// Rows is the number of rows.
func (d *Design) Rows() int { return len(d.Y) }

// Row is the covariate row i, sharing the memory of X.
func (d *Design) Row(i int) []float64 { return d.X[i*d.P : (i+1)*d.P] }

// check reports the first thing that makes a fit impossible.
func (d *Design) check() error {
	n := len(d.Y)
	switch {
	case d.P < 1:
		return fmt.Errorf("design has %d columns, at least 1 is needed", d.P)
	case n == 0:
		return fmt.Errorf("design has no rows")
	case len(d.Exposure) != n:
		return fmt.Errorf("design has %d counts but %d exposures", n, len(d.Exposure))
	case len(d.X) != n*d.P:
		return fmt.Errorf("design has %d covariate values, %d rows of %d columns need %d", len(d.X), n, d.P, n*d.P)
	}
	for i, y := range d.Y {
		if !(y >= 0) || math.IsInf(y, 1) {
			return fmt.Errorf("row %d: count %g must be a number of at least 0", i, y)
		}
		if t := d.Exposure[i]; !(t > 0) || math.IsInf(t, 1) {
			return fmt.Errorf("row %d: exposure %g must be a number above 0", i, t)
		}
	}
	for k, x := range d.X {
		if x-x != 0 { // NaN or infinite
			return fmt.Errorf("row %d, column %d: covariate %g is not a finite number", k/d.P, k%d.P, x)
		}
	}
	return nil
}

// sparseRows keeps the nonzero covariates of each row, columns ascending: rows
// of factor levels are mostly zeros, and a fit visits every row several times.
type sparseRows struct {
	p     int
	start []int32 // row i owns entries start[i] to start[i+1]
	col   []int32
	val   []float64
}

func newSparseRows(d *Design) *sparseRows {
	nonzero := 0
	for _, x := range d.X {
		if x != 0 {
			nonzero++
		}
	}
	s := &sparseRows{
		p:     d.P,
		start: make([]int32, 1, d.Rows()+1),
		col:   make([]int32, 0, nonzero),
		val:   make([]float64, 0, nonzero),
	}
	for i := range d.Y {
		for j, x := range d.Row(i) {
			if x != 0 {
				s.col = append(s.col, int32(j))
				s.val = append(s.val, x)
			}
		}
		s.start = append(s.start, int32(len(s.col)))
	}
	return s
}

func (s *sparseRows) rows() int { return len(s.start) - 1 }

func (s *sparseRows) row(i int) ([]int32, []float64) {
	a, b := s.start[i], s.start[i+1]
	return s.col[a:b], s.val[a:b:b]
}

// dot is row i times b.
func (s *sparseRows) dot(i int, b []float64) float64 {
	col, val := s.row(i)
	sum := 0.0
	for k, j := range col {
		sum += val[k] * b[j]
	}
	return sum
}

// addOuter adds w·x·x' of row i to the upper triangle of the p×p matrix a.
func (s *sparseRows) addOuter(a []float64, i int, w float64) {
	col, val := s.row(i)
	for k, j := range col {
		wx := w * val[k]
		line := a[int(j)*s.p : (int(j)+1)*s.p]
		rest := val[k:]
		for m, c := range col[k:] {
			line[c] += wx * rest[m]
		}
	}
}

// largest is the largest absolute value of each column.
func (s *sparseRows) largest() []float64 {
	out := make([]float64, s.p)
	for k, j := range s.col {
		out[j] = max(out[j], math.Abs(s.val[k]))
	}
	return out
}

// without drops columns, which must be ascending, and renumbers the others.
func (s *sparseRows) without(drop []int) *sparseRows {
	if len(drop) == 0 {
		return s
	}
	place := make([]int32, s.p)
	kept := keptColumns(s.p, drop)
	for j := range place {
		place[j] = -1
	}
	for k, j := range kept {
		place[j] = int32(k)
	}
	out := &sparseRows{p: len(kept), start: make([]int32, 1, len(s.start))}
	for i := range s.rows() {
		col, val := s.row(i)
		for k, j := range col {
			if place[j] >= 0 {
				out.col = append(out.col, place[j])
				out.val = append(out.val, val[k])
			}
		}
		out.start = append(out.start, int32(len(out.col)))
	}
	return out
}

// keptColumns lists 0 to p-1 without the ascending indices in drop.
func keptColumns(p int, drop []int) []int {
	kept := make([]int, 0, p-len(drop))
	for j := range p {
		if len(drop) > 0 && drop[0] == j {
			drop = drop[1:]
			continue
		}
		kept = append(kept, j)
	}
	return kept
}
