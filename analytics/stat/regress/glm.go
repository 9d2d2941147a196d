package regress

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// ErrAllZero reports counts that sum to zero: no rate ratio can be estimated.
var ErrAllZero = errors.New("no events in any row")

// ErrSeparated is matched by every *SeparationError.
var ErrSeparated = errors.New("some coefficients have no finite estimate")

// ErrNotConverged reports a fit that did not settle.
var ErrNotConverged = errors.New("the fit did not settle")

// SeparationError names the columns whose coefficients run off to infinity,
// for example the indicator of a level without events. Firth has a finite
// estimate for them.
type SeparationError struct{ Columns []int }

func (e *SeparationError) Error() string {
	return fmt.Sprintf("%v: columns %v", ErrSeparated, e.Columns)
}

// Is makes errors.Is(err, ErrSeparated) hold.
func (e *SeparationError) Is(target error) bool { return target == ErrSeparated }

// Fit is a fitted Poisson regression with log link.
type Fit struct {
	Coef       []float64     // one a column, log scale; 0 where aliased
	Aliased    []int         // columns left out as combinations of earlier ones, ascending
	Cov        *mat.SymDense // model covariance (X'WX)⁻¹; rows and columns of aliased are 0
	Deviance   float64       // of the rows or cells as given, not comparable between the two
	Pearson    float64       // Σ(y−μ)²/μ, of the rows or cells as given
	Rows       int
	Iterations int
	Penalised  bool // by Firth
}

// Rank is the number of coefficients estimated.
func (f *Fit) Rank() int { return len(f.Coef) - len(f.Aliased) }

// Rate is the fitted events per unit exposure at the covariate row x.
func (f *Fit) Rate(x []float64) float64 {
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

// Poisson fits E(y) = exposure·exp(Xb) by maximum likelihood: iteratively
// reweighted least squares (Nelder & Wedderburn 1972, JRSS A 135:370), halving
// steps that raise the deviance, until the deviance would change by less than
// 1e-10 of itself. Columns that are combinations of earlier ones are left out
// and listed in Aliased.
//
// It returns ErrAllZero when all counts are zero, a *SeparationError when
// coefficients have no finite estimate, ErrNotConverged, or an error naming the
// row that cannot be.
func Poisson(d *Design) (*Fit, error) {
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
		return nil, nil, ErrAllZero
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

// result packs the fit, after factorising the information at the estimate.
func (w *irls) result(p int, aliased []int, iterations int) (*Fit, error) {
	kept := keptColumns(p, aliased)
	fit := &Fit{
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
