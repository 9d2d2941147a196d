package analytics

import (
	"errors"
	"math"

	"rigtally/analytics/stat/regress"
)

const (
	// manySessions is the number of sessions from which the sandwich variance
	// is used as it is; below, the bias-reduced one.
	manySessions = 20
	// FewestToCorrect is the number of sessions below which nothing can be said.
	FewestToCorrect = 3
)

// ErrTooFew says that there are too few sessions, or rows, for a regression.
var ErrTooFew = errors.New("too few sessions for a regression")

// The words for how a variance was found.
const (
	methodHC1   = "HC1 by session"
	methodCR2   = "CR2 by session"
	methodModel = "model variance"
)

// Regression is a design's regression with its variance.
type Regression struct {
	*design
	fit      *regress.Fit
	tester   regress.Tester
	sandwich string      // methodHC1 or methodCR2
	never    [][]float64 // regress.Dependencies
}

// fitOnly is the regression without a variance: by maximum likelihood, or with
// the Jeffreys penalty when some coefficient would run off for want of events.
func (d *design) fitOnly() (*regress.Fit, error) {
	fit, err := regress.Poisson(&d.cells)
	if errors.Is(err, regress.ErrSeparated) {
		return regress.Firth(&d.cells)
	}
	return fit, err
}

// fit returns ErrTooFew, regress.ErrAllZero, or what went wrong.
func (d *design) fitted() (*Regression, error) {
	if d.rows.Sessions < FewestToCorrect {
		return nil, ErrTooFew
	}
	fit, err := d.fitOnly()
	if err != nil {
		return nil, err
	}
	if len(d.rows.Cell) <= fit.Rank() {
		return nil, ErrTooFew
	}
	f := &Regression{design: d, fit: fit}
	if f.never, err = regress.Dependencies(&d.cells, fit.Aliased); err != nil {
		return nil, err
	}
	if d.rows.Sessions < manySessions {
		return f, f.ReduceBias()
	}
	f.sandwich = methodHC1
	f.tester, err = regress.HC1(fit, d.bySession())
	return f, err
}

// bySession are the rows of a fit, clustered by session.
func (d *design) bySession() regress.Rows {
	return regress.Rows{Cells: &d.cells, Clusters: d.rows.Sessions, All: func(add func(session, cell int, events, exposure float64)) {
		for row, cell := range d.rows.Cell {
			add(int(d.rows.Session[row]), d.of[cell], d.rows.Events[row], d.rows.Exposure[row])
		}
	}}
}

// ReduceBias makes the variance CR2 by session, with Satterthwaite's degrees of freedom.
func (f *Regression) ReduceBias() (err error) {
	if f.sandwich == methodCR2 {
		return nil
	}
	f.sandwich = methodCR2
	f.tester, err = regress.NewCR2(f.fit, f.bySession())
	return err
}

// tells reports whether the rows say anything about a contrast.
func (f *Regression) tells(c []float64) bool {
	const still = 1e-6
	for _, v := range f.never {
		sum := 0.0
		for j, w := range v {
			sum += w * c[j]
		}
		if math.Abs(sum) > still {
			return false
		}
	}
	return true
}

// estimate is the sum of the coefficients with weights c.
func (f *Regression) estimate(c []float64) float64 {
	sum := 0.0
	for j, b := range f.fit.Coef {
		sum += b * c[j]
	}
	return sum
}

// method says how a contrast was estimated.
func (f *Regression) method(variance string) string {
	if f.fit.Penalised {
		return "Poisson with Jeffreys penalty (Firth), " + variance
	}
	return "Poisson, " + variance
}

// byModel judges a contrast by the variance of the model, widened by a factor, where the
// scatter of sessions says nothing because none of them had an event.
func (f *Regression) byModel(c []float64, dispersion float64) regress.Contrast {
	variance := 0.0
	for i, a := range c {
		for j, b := range c {
			variance += a * b * f.fit.Cov.At(i, j)
		}
	}
	return regress.Contrast{Estimate: f.estimate(c), SE: math.Sqrt(variance * dispersion), DF: float64(f.rows.Sessions - 1)}
}
