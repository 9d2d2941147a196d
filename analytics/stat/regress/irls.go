package regress

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// irls is the working state of a fit over columns that are all estimable.
type irls struct {
	x         *sparseRows
	y, t      []float64
	logRate   []float64 // log(y/t), only where y > 0
	eta       []float64 // Xb
	mu        []float64 // fitted counts
	beta      []float64
	info      []float64 // X'WX, upper triangle
	score     []float64 // X'(y−μ)
	deviance  float64
	chol      mat.Cholesky
	step      []float64
	etaBefore []float64
	workspace []float64
}

func newIRLS(d *Design, x *sparseRows) *irls {
	n, p := d.Rows(), x.p
	w := &irls{
		x: x, y: d.Y, t: d.Exposure,
		logRate:   make([]float64, n),
		eta:       make([]float64, n),
		mu:        make([]float64, n),
		etaBefore: make([]float64, n),
		beta:      make([]float64, p),
		score:     make([]float64, p),
		step:      make([]float64, p),
		workspace: make([]float64, p),
	}
	for i, y := range d.Y {
		if y > 0 {
			w.logRate[i] = math.Log(y / d.Exposure[i])
		}
	}
	return w
}

// begin sets the coefficients to the exposure-weighted least-squares fit of the
// constant c, which is c itself when the columns hold an intercept; info holds
// the cross product with these weights. Like every later step it depends on the
// rows only through sums.
func (w *irls) begin(c float64) error {
	for i, t := range w.t {
		col, val := w.x.row(i)
		for k, j := range col {
			w.score[j] += t * c * val[k]
		}
	}
	if err := w.solve(); err != nil {
		return err
	}
	copy(w.beta, w.step)
	w.evaluate()
	return nil
}

// evaluate fills eta, deviance, score and information at beta.
func (w *irls) evaluate() {
	clear(w.info)
	clear(w.score)
	w.deviance = 0
	for i, y := range w.y {
		eta := w.x.dot(i, w.beta)
		w.eta[i] = eta
		mu := w.t[i] * math.Exp(eta)
		w.mu[i] = mu
		part := mu - y
		if y > 0 {
			part += y * (w.logRate[i] - eta)
		}
		w.deviance += 2 * part
		w.x.addOuter(w.info, i, mu)
		r := y - mu
		col, val := w.x.row(i)
		for k, j := range col {
			w.score[j] += r * val[k]
		}
	}
}

// solve sets step to information⁻¹·score. Far from the maximum fitted values may
// differ so much that the information is singular to the last digit; then its
// diagonal is raised a little, which shortens the step.
func (w *irls) solve() error {
	p := w.x.p
	info := mat.NewSymDense(p, w.info)
	if w.chol.Factorize(info) {
		return w.solveFactored()
	}
	for raise := 1e-12; raise < 1e-3; raise *= 1e3 {
		raised := mat.NewSymDense(p, nil)
		raised.CopySym(info)
		for j := range p {
			raised.SetSym(j, j, raised.At(j, j)*(1+raise))
		}
		if w.chol.Factorize(raised) {
			return w.solveFactored()
		}
	}
	return ErrNotConverged
}

func (w *irls) solveFactored() error {
	dst := mat.NewVecDense(w.x.p, w.step)
	err := w.chol.SolveVecTo(dst, mat.NewVecDense(w.x.p, w.score))
	if cond := mat.Condition(0); errors.As(err, &cond) {
		return nil // ill-conditioned but solved; the deviance decides
	}
	return err
}

// maximise iterates to the maximum of the likelihood and leaves info there.
func (w *irls) maximise() (int, error) {
	for iteration := 1; iteration <= maxPoissonIterations; iteration++ {
		if err := w.solve(); err != nil {
			return iteration, err
		}
		gain := dotProduct(w.score, w.step)
		limit := devianceTolerance * min(1, math.Abs(w.deviance)+0.1)
		if err := w.advance(); err != nil {
			return iteration, err
		}
		if columns := w.separated(); columns != nil {
			return iteration, &SeparationError{Columns: columns}
		}
		if gain <= limit {
			return iteration, nil
		}
	}
	return maxPoissonIterations, ErrNotConverged
}

// advance takes the step, halving it while the deviance rises.
func (w *irls) advance() error {
	copy(w.workspace, w.beta)
	copy(w.etaBefore, w.eta)
	before := w.deviance
	slack := 1e-9 * (math.Abs(before) + 0.1)
	share := 1.0
	for range 40 {
		for j, b := range w.workspace {
			w.beta[j] = b + share*w.step[j]
		}
		w.evaluate()
		if w.deviance <= before+slack { // false for NaN
			return nil
		}
		share /= 2
	}
	return ErrNotConverged
}

// separated lists the columns along which the likelihood rises for ever, or
// nil. In such a direction the fitted values fall only in rows without events
// and stand still in all others (Correia, Guimarães & Zylkin 2019,
// arXiv:1903.01633, §2); Newton steps settle into it at one unit a step.
func (w *irls) separated() []int {
	const still, falls = 1e-6, -0.9
	lowest := 0.0
	for i, y := range w.y {
		move := w.eta[i] - w.etaBefore[i]
		if math.Abs(move) > still && (y > 0 || move > 0) {
			return nil
		}
		lowest = min(lowest, move)
	}
	if lowest > falls {
		return nil
	}
	largest := w.x.largest()
	var columns []int
	for j, b := range w.beta {
		if math.Abs(b-w.workspace[j])*largest[j] > 0.1 {
			columns = append(columns, j)
		}
	}
	return columns
}

// covariance is the inverse of the information at beta.
func (w *irls) covariance() (*mat.SymDense, error) {
	p := w.x.p
	if !w.chol.Factorize(mat.NewSymDense(p, w.info)) {
		return nil, ErrNotConverged
	}
	cov := mat.NewSymDense(p, nil)
	err := w.chol.InverseTo(cov)
	if cond := mat.Condition(0); err != nil && !errors.As(err, &cond) {
		return nil, err
	}
	return cov, nil
}

func dotProduct(a, b []float64) float64 {
	sum := 0.0
	for i, x := range a {
		sum += x * b[i]
	}
	return sum
}
