package regress

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ByModel judges contrasts by the observed information, on as many degrees of
// freedom as there are more clusters than coefficients. It returns ErrFewClusters
// where there are no more.
func (f *FrailtyFit) ByModel() (*FixedDF, error) {
	df, err := f.degrees()
	if err != nil {
		return nil, err
	}
	return &FixedDF{fit: &f.Fit, cov: f.Cov, df: df}, nil
}

// degrees are clusters less coefficients.
func (f *FrailtyFit) degrees() (float64, error) {
	if df := f.panel.clusters() - f.Rank(); df > 0 {
		return float64(df), nil
	}
	return 0, fmt.Errorf("%d clusters for %d coefficients: %w", f.panel.clusters(), f.Rank(), ErrFewClusters)
}

// clusters counts those that have rows.
func (p *panel) clusters() int {
	n := 0
	for s := range p.events {
		if p.start[s] < p.start[s+1] {
			n++
		}
	}
	return n
}

// Sandwich judges contrasts by the variance between clusters: the bread is Cov, the meat the
// clusters' scores of the coefficients, times G/(G−1) for G clusters, on as many degrees of
// freedom as there are more clusters than coefficients. It returns
// ErrFewClusters where there are no more.
func (f *FrailtyFit) Sandwich() (*FixedDF, error) {
	df, err := f.degrees()
	if err != nil {
		return nil, err
	}
	cov, err := f.sandwich()
	return &FixedDF{fit: &f.Fit, cov: cov, df: df}, err
}

func (f *FrailtyFit) sandwich() (*mat.SymDense, error) {
	n, g := f.panel.cells.p, float64(f.panel.clusters())
	meat := make([]float64, n*n)
	if err := f.panel.scores(f.rows, func(_ int, score []float64) { addUpper(meat, score, g/(g-1)) }); err != nil {
		return nil, err
	}
	return congruent(f.Cov, spread(mat.NewSymDense(n, meat), f.panel.kept, len(f.Coef))), nil
}

// CR2 judges contrasts by the bias-reduced variance between clusters, on Satterthwaite's
// degrees of freedom: NewCR2 with the multiplier in the working model, under which the counts
// of a cluster have the covariance diag(μ) + c²μμ'. Its inverse makes of X'(y−μ) the score
// of the coefficients, so that the same algebra holds.
func (f *FrailtyFit) CR2() (*CR2, error) {
	p := f.panel
	n := p.cells.p
	blocks := make([]cr2Block, len(p.events))
	err := p.scores(f.rows, func(s int, score []float64) {
		blocks[s] = p.block(s, f.Variance, score)
	})
	if err != nil {
		return nil, fmt.Errorf("bias-reduced variance: %w", err)
	}
	total := make([]float64, n*n)
	for i := range blocks {
		blocks[i].addInfo(total, n)
	}
	bread, err := inverse(mat.NewSymDense(n, total))
	if err != nil {
		return nil, fmt.Errorf("bias-reduced variance: %w", err)
	}
	return newCR2(&f.Fit, p.kept, bread, blocks)
}

// block is the share of a cluster: V^(−1/2)·D for its rows, where the working covariance V is
// diag(√μ)(I + c²vv')diag(√μ) with v = √μ, of which the inner factor has the inverse root
// I − (1 − 1/√(1 + c²M))/M·vv'.
func (p *panel) block(s int, c2 float64, score []float64) cr2Block {
	n := p.cells.p
	first, end := p.start[s], p.start[s+1]
	b := cr2Block{rows: int(end - first), score: score}
	m, mean := make([]float64, n), p.mean[s]
	p.sumRows(s, m)
	shrink := 0.0
	if mean > 0 {
		shrink = (1 - 1/math.Sqrt(1+c2*mean)) / mean
	}
	wide := b.rows > n
	if wide {
		b.info = make([]float64, n*n)
	} else {
		b.thin = make([]float64, b.rows*n)
	}
	line := make([]float64, n)
	for row := first; row < end; row++ {
		if !wide {
			line = b.thin[int(row-first)*n : int(row-first+1)*n]
		}
		root := math.Sqrt(p.t[row] * p.rate[p.cell[row]])
		for j, v := range m {
			line[j] = -shrink * root * v
		}
		col, val := p.cells.row(int(p.cell[row]))
		for i, j := range col {
			line[j] += root * val[i]
		}
		if wide {
			addUpper(b.info, line, 1)
		}
	}
	return b
}

// addInfo adds the information of a cluster to an upper triangle of n columns.
func (b *cr2Block) addInfo(total []float64, n int) {
	if b.info != nil {
		for i, v := range b.info {
			total[i] += v
		}
		return
	}
	for row := range b.rows {
		addUpper(total, b.thin[row*n:(row+1)*n], 1)
	}
}

// Widest judges by the least certain of several variances: a contrast by that with the
// wider 95% interval, where it has one, several contrasts by that with the larger p.
type Widest []Tester

// Contrast implements Tester.
func (w Widest) Contrast(c []float64) (Contrast, error) {
	var widest Contrast
	half := -1.0
	for _, t := range w {
		one, err := t.Contrast(c)
		if errors.Is(err, ErrNoSpread) {
			continue
		}
		if err != nil {
			return Contrast{}, err
		}
		if h := studentQuantile(0.975, one.DF) * one.SE; h > half {
			widest, half = one, h
		}
	}
	if half < 0 {
		return Contrast{}, ErrNoSpread
	}
	return widest, nil
}

// Wald implements Tester.
func (w Widest) Wald(contrasts [][]float64) (WaldTest, error) {
	var largest WaldTest
	for i, t := range w {
		one, err := t.Wald(contrasts)
		if err != nil {
			return WaldTest{}, err
		}
		if i == 0 || one.P > largest.P {
			largest = one
		}
	}
	return largest, nil
}

// Covariance implements Tester: that with the larger sum of variances.
func (w Widest) Covariance() mat.Symmetric {
	var widest mat.Symmetric
	sum := -1.0
	for _, t := range w {
		cov := t.Covariance()
		trace := 0.0
		for j := range cov.SymmetricDim() {
			trace += cov.At(j, j)
		}
		if trace > sum {
			widest, sum = cov, trace
		}
	}
	return widest
}
