package stat

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// ErrNoEvents reports counts that sum to zero: no rate ratio can be estimated.
var ErrNoEvents = errors.New("no events in any row")

// ErrSeparated is matched by every *SeparationError.
var ErrSeparated = errors.New("some coefficients have no finite estimate")

// ErrNotConverged reports a fit that did not settle.
var ErrNotConverged = errors.New("the fit did not settle")

// SeparationError names the columns whose coefficients run off to infinity,
// for example the indicator of a level without events. FitFirth has a finite
// estimate for them.
type SeparationError struct{ Columns []int }

func (e *SeparationError) Error() string {
	return fmt.Sprintf("%v: columns %v", ErrSeparated, e.Columns)
}

// Is makes errors.Is(err, ErrSeparated) hold.
func (e *SeparationError) Is(target error) bool { return target == ErrSeparated }

// PoissonFit is a fitted Poisson regression with log link.
type PoissonFit struct {
	Coef       []float64     // one a column, log scale; 0 where aliased
	Aliased    []int         // columns left out as combinations of earlier ones, ascending
	Cov        *mat.SymDense // model covariance (X'WX)⁻¹; rows and columns of aliased are 0
	Deviance   float64       // of the rows or cells as given, not comparable between the two
	Pearson    float64       // Σ(y−μ)²/μ, of the rows or cells as given
	Rows       int
	Iterations int
	Penalised  bool // by FitFirth
}

// Rank is the number of coefficients estimated.
func (f *PoissonFit) Rank() int { return len(f.Coef) - len(f.Aliased) }

// Rate is the fitted events per unit exposure at the covariate row x.
func (f *PoissonFit) Rate(x []float64) float64 {
	eta := 0.0
	for j, b := range f.Coef {
		eta += b * x[j]
	}
	return math.Exp(eta)
}

const (
	maxPoissonIterations = 100
	// devianceTolerance bounds the change of the deviance at the last step,
	// relative to the deviance, and absolutely when that is above 1, so that
	// the coefficients do not depend on how rows were summed.
	devianceTolerance = 1e-10
)

// FitPoisson fits E(y) = exposure·exp(Xb) by maximum likelihood: iteratively
// reweighted least squares (Nelder & Wedderburn 1972, JRSS A 135:370), halving
// steps that raise the deviance, until the deviance would change by less than
// 1e-10 of itself. Columns that are combinations of earlier ones are left out
// and listed in Aliased.
//
// It returns ErrNoEvents when all counts are zero, a *SeparationError when
// coefficients have no finite estimate, ErrNotConverged, or an error naming the
// row that cannot be.
func FitPoisson(d *Design) (*PoissonFit, error) {
	w, aliased, err := startPoisson(d, 0)
	if err != nil {
		return nil, fmt.Errorf("fit a Poisson regression: %w", err)
	}
	iterations, err := w.maximise()
	if sep := (*SeparationError)(nil); errors.As(err, &sep) {
		kept := keptColumns(d.P, aliased)
		for k, j := range sep.Columns {
			sep.Columns[k] = kept[j]
		}
	}
	if err != nil {
		return nil, fmt.Errorf("fit a Poisson regression: %w", err)
	}
	return w.result(d.P, aliased, iterations)
}

// startPoisson checks the design, drops aliased columns and starts from the
// pooled rate, with extra added to the events.
func startPoisson(d *Design, extra float64) (*irls, []int, error) {
	if err := d.check(); err != nil {
		return nil, nil, err
	}
	events, exposure := extra, 0.0
	for i, y := range d.Y {
		events += y
		exposure += d.Exposure[i]
	}
	if events == 0 {
		return nil, nil, ErrNoEvents
	}
	rows := newSparseRows(d)
	info := make([]float64, d.P*d.P) // with exposures for weights
	for i, t := range d.Exposure {
		rows.addOuter(info, i, t)
	}
	aliased := dependentColumns(slices.Clone(info), d.P)
	if len(aliased) == d.P {
		return nil, nil, errors.New("every covariate is zero in every row")
	}
	w := newIRLS(d, rows.without(aliased))
	w.info = compact(info, d.P, aliased)
	err := w.begin(math.Log(events / exposure))
	return w, aliased, err
}

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

// solve sets step to information⁻¹·score.
func (w *irls) solve() error {
	p := w.x.p
	if !w.chol.Factorize(mat.NewSymDense(p, w.info)) {
		return ErrNotConverged
	}
	return w.solveFactored()
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
	var columns []int
	for j, b := range w.beta {
		if math.Abs(b-w.workspace[j]) > 0.1 {
			columns = append(columns, j)
		}
	}
	return columns
}

// result packs the fit, after factorising the information at the estimate.
func (w *irls) result(p int, aliased []int, iterations int) (*PoissonFit, error) {
	kept := keptColumns(p, aliased)
	fit := &PoissonFit{
		Coef:       make([]float64, p),
		Aliased:    slices.Clip(aliased),
		Deviance:   max(0, w.deviance),
		Rows:       len(w.y),
		Iterations: iterations,
	}
	for k, j := range kept {
		fit.Coef[j] = w.beta[k]
	}
	for i, y := range w.y {
		if mu := w.mu[i]; mu > 0 {
			fit.Pearson += (y - mu) * (y - mu) / mu
		}
	}
	cov, err := w.covariance()
	if err != nil {
		return nil, fmt.Errorf("invert the information of a Poisson regression: %w", err)
	}
	fit.Cov = spread(cov, kept, p)
	return fit, nil
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
