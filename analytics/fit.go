package analytics

import (
	"errors"
	"math"

	"rigtally/analytics/stat/regress"
	"rigtally/journal"
)

// Model is how a comparison is fitted.
type Model string

// The models. Sessions share what makes them good or bad days; a marginal fit charges that to
// the rigs, where they are changed because of what happened.
const (
	Frailty  Model = "frailty"  // each session has a multiplier of its own, drawn from a gamma distribution
	Marginal Model = "marginal" // a Poisson fit with a sandwich variance by session
)

// ModelNamed reads a model; empty is the frailty.
func ModelNamed(text string) (Model, error) {
	switch m := Model(text); m {
	case "":
		return Frailty, nil
	case Frailty, Marginal:
		return m, nil
	}
	return "", journal.Invalidf("model %q is not known; write frailty or marginal", text)
}

// modelOf is the model for an outcome: minutes lost are no counts, and no multiplier is fitted to them.
func modelOf(m Model, o journal.Outcome) Model {
	if m == "" {
		m = Frailty
	}
	if o.Measure == journal.AmountPer {
		return Marginal
	}
	return m
}

const (
	// manySessions is the number of sessions from which a marginal fit's sandwich variance
	// is used as it is; below, the bias-reduced one.
	manySessions = 20
	// manyOfAFrailty is that number for the sandwich of a frailty, and fewOfAGroup the number of a
	// group's own sessions below which the bias-reduced one is taken, however
	// many there are in all. See the coverage tests.
	manyOfAFrailty = 100
	fewOfAGroup    = 20
	// FewestToCorrect is the number of sessions below which nothing can be said.
	FewestToCorrect = 3
)

// ErrTooFew says that there are too few sessions, or rows, for a regression.
var ErrTooFew = errors.New("too few sessions for a regression")

// The words for how a variance was found.
const (
	methodHC1      = "HC1 by session"
	methodCR2      = "CR2 by session"
	methodModel    = "model variance"
	methodSandwich = "the wider of information and sandwich by session"
	methodReduced  = "the wider of information and CR2 by session"
)

// Regression is a design's regression with its variance.
type Regression struct {
	*design
	Given    []Given // of each of its givens
	Model    Model
	Variance float64 // of the sessions' multiplier, c²; 0 for a marginal fit
	fit      *regress.Fit
	exposure []float64 // of each of the cells, times its sessions' multipliers; as it is for a marginal fit
	tester   regress.Tester
	sandwich string      // a method's word
	never    [][]float64 // regress.Dependencies
}

// fitOnly is the marginal regression without a variance: by maximum likelihood, or with
// the Jeffreys penalty when some coefficient would run off for want of events.
func (d *design) fitOnly() (*regress.Fit, error) {
	fit, err := regress.Poisson(&d.cells)
	if errors.Is(err, regress.ErrSeparated) {
		return regress.Firth(&d.cells)
	}
	return fit, err
}

func (d *design) frailty() (*regress.FrailtyFit, error) {
	rows := d.effective()
	fit, err := regress.Frailty(rows)
	if errors.Is(err, regress.ErrSeparated) {
		return regress.FrailtyFirth(rows)
	}
	return fit, err
}

// fitted returns ErrTooFew, regress.ErrAllZero, or what went wrong.
func (d *design) fitted(m Model) (*Regression, error) {
	if d.rows.Sessions < FewestToCorrect {
		return nil, ErrTooFew
	}
	f := &Regression{design: d, Model: m}
	var err error
	if m == Marginal {
		err = f.fitMarginal()
	} else {
		err = f.fitFrailty()
	}
	if errors.Is(err, regress.ErrFewClusters) {
		return nil, ErrTooFew
	}
	if err != nil {
		return nil, err
	}
	f.never, err = regress.Dependencies(&d.cells, f.fit.Aliased)
	return f, err
}

func (f *Regression) fitMarginal() (err error) {
	if f.fit, err = f.fitOnly(); err != nil {
		return err
	}
	f.exposure = f.cells.Exposure
	if len(f.rows.Cell) <= f.fit.Rank() {
		return ErrTooFew
	}
	if f.rows.Sessions < manySessions {
		f.sandwich = methodCR2
		f.tester, err = regress.NewCR2(f.fit, f.bySession())
		return err
	}
	f.sandwich = methodHC1
	f.tester, err = regress.HC1(f.fit, f.bySession())
	return err
}

// fitFrailty judges by the wider of what the likelihood and the scatter of sessions vouch for: the
// first knows nothing of scatter within a session, the second little while sessions are few.
func (f *Regression) fitFrailty() error {
	fit, err := f.frailty()
	if err != nil {
		return err
	}
	f.fit, f.Variance, f.exposure = &fit.Fit, fit.Variance, fit.Multiplied()
	byModel, err := fit.ByModel()
	if err != nil {
		return err
	}
	if f.rows.Sessions < manyOfAFrailty || f.smallestGroup() < fewOfAGroup {
		reduced, err := fit.CR2()
		f.sandwich, f.tester = methodReduced, regress.Widest{byModel, reduced}
		return err
	}
	sandwich, err := fit.Sandwich()
	f.sandwich, f.tester = methodSandwich, regress.Widest{byModel, sandwich}
	return err
}

// smallestGroup is the least number of sessions of a group, where what is asked about are groups.
func (f *Regression) smallestGroup() int {
	least := math.MaxInt
	if f.asked.spline == nil && f.asked.scale == 0 {
		for _, g := range f.rows.Groups {
			least = min(least, g.Sessions)
		}
	}
	return least
}

// effective are the rows with counts and exposures for a Poisson model. Counts of a share scatter less than Poisson,
// by 1 − p, p being the share of all: divided by that, with their trials, they have
// the variance of a Poisson count, so that neither the information nor what sessions differ by is
// told too small (effective counts as in the project's statistics, §1). For a rate they are the rows themselves.
func (d *design) effective() regress.Rows {
	rows := d.bySession()
	if !d.trials {
		return rows
	}
	events, trials := 0.0, 0.0
	for i, t := range d.cells.Exposure {
		events += d.cells.Y[i]
		trials += t
	}
	scale := 1 / max(leastScatter, 1-events/trials)
	cells := &regress.Design{P: d.cells.P, X: d.cells.X, Y: make([]float64, len(d.cells.Y)), Exposure: make([]float64, len(d.cells.Exposure))}
	for i := range cells.Y {
		cells.Y[i], cells.Exposure[i] = scale*d.cells.Y[i], scale*d.cells.Exposure[i]
	}
	return regress.Rows{Cells: cells, Clusters: rows.Clusters, All: func(add func(session, cell int, events, exposure float64)) {
		rows.All(func(session, cell int, events, exposure float64) { add(session, cell, scale*events, scale*exposure) })
	}}
}

// leastScatter bounds 1 − p, where nearly every trial is an event.
const leastScatter = 0.05

// bySession are the rows of a fit, clustered by session.
func (d *design) bySession() regress.Rows {
	return regress.Rows{Cells: &d.cells, Clusters: d.rows.Sessions, All: func(add func(session, cell int, events, exposure float64)) {
		for row, cell := range d.rows.Cell {
			add(int(d.rows.Session[row]), d.of[cell], d.rows.Events[row], d.rows.Exposure[row])
		}
	}}
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
	name := "Poisson"
	if f.Model == Frailty {
		name = "Poisson with a gamma frailty by session"
	}
	if f.fit.Penalised {
		name += " and Jeffreys penalty (Firth)"
	}
	return name + ", " + variance
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
