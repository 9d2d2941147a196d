package analytics

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"rigtally/analytics/answer"
	"rigtally/analytics/change"
	"rigtally/analytics/stat/regress"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// CurveAnswer says how a rate goes over a number.
//
// The curve is that of the average of the givens: each of their columns is held at
// its exposure-weighted mean over the rows used, so that the curve's level is
// that of the usual water, angler and so on, and its shape does not depend on it.
type CurveAnswer struct {
	Outcome  journal.Outcome
	Over     journal.Factor
	Where    []journal.Condition
	Given    []Given
	Model    Model
	Points   []CurvePoint // ascending; none when there is nothing to draw, and Notes say why
	Knots    []float64    // none for a straight line
	Boundary []float64    // none or two
	Matters  *float64     // p that it makes no difference (Wald)
	Bends    *float64     // p that the line, of the log rate, is straight (Wald); nil when it is one
	Best     []Chance     // of each point, to have the best rate of those where it was fished
	Highest  bool         // the best rate is the highest, not the lowest
	Rug      []Rug        // where the exposure lies, ascending
	Total    Group        // counts of all rows used
	Method   string
	LeftOut  map[string]int
	Told     journal.Told // what was not told of what it used
	Bet      *CurveBet    // which value to choose; nil where it can't be told, or is the one fished most
	Notes    []Note
	Changed  *change.Finding // the number was changed because of what happened; nil where that is not seen, or not looked for
	Rise     *Rise           // of a number so changed; else nil

	belief *curveBelief
}

// CurvePoint is the rate at a value, in the storage unit, with its pointwise 95% interval.
type CurvePoint struct {
	At, Rate    float64
	Low, High   float64
	SELog       float64 // standard error of the log of the rate
	HasInterval bool    // false when a single session decides the point
}

// Chance is a probability, over what is not known of the curve.
type Chance struct {
	At          float64  `json:"at"`
	Probability *float64 `json:"probability"` // nil where it was hardly fished (FishedRange), for that does not compete
}

// Rug is the exposure at a value, or in a short stretch around it.
type Rug struct {
	At       float64 `json:"at"`
	Exposure float64 `json:"exposure"`
}

// Curve asks how an outcome's rate goes over a number: a natural cubic spline of the log
// rate, fitted as the corrected comparisons are. Where it was fished at fewer than
// six values, or nearly always at one, it is a straight line.
func Curve(ctx context.Context, journalOf Asker, r CurveRequest) (CurveAnswer, error) {
	a, _, err := fitCurve(ctx, journalOf, r)
	return a, err
}

// fitCurve is a curve with its regression, nil when there is none to draw it by.
func fitCurve(ctx context.Context, journalOf Asker, r CurveRequest) (a CurveAnswer, f *Regression, err error) {
	q, err := r.resolve()
	if err != nil {
		return a, nil, err
	}
	rows, err := journalOf.Rows(ctx, q.Question)
	if err != nil {
		return a, nil, err
	}
	if err := refuseUntimed(q.Outcome, rows.Answer); err != nil {
		return a, nil, err
	}
	a = CurveAnswer{Outcome: q.Outcome, Over: q.over, Where: q.Where, Given: q.givens, Model: q.model, LeftOut: rows.LeftOut, Told: rows.Told,
		Highest: q.Outcome.MoreIsBetter()}
	for _, g := range rows.Groups {
		a.Total.Hours += g.Hours
		a.Total.Exposure += g.T
		a.Total.Events += g.K
	}
	a.Total.Stints, a.Total.Sessions, a.Total.Events = rows.Stints, rows.Sessions, Tidy(a.Total.Events)
	a.lay(rows, r)
	switch {
	case len(rows.Groups) == 0:
		a.note(NoteNothing, 0)
	case len(rows.Groups) == 1:
		a.note(NoteOneLevel, 1)
	case a.Total.Events == 0:
		a.note(NoteNoEvents, 0)
	default:
		f, err = a.draw(rows, q, r)
	}
	a.Notes = append(a.Notes, toldNotes(a.Told)...)
	if err != nil && !journal.IsInvalid(err) {
		err = fmt.Errorf("draw %s over %s: %w", q.Outcome.Key, q.over.Key, err)
	}
	return a, f, err
}

func (a *CurveAnswer) note(kind NoteKind, count int) {
	a.Notes = append(a.Notes, Note{Kind: kind, Count: count, Group: -1})
}

// draw fits the curve and fills the answer. The fit is nil where there is too little for one.
func (a *CurveAnswer) draw(rows *facts.Rows, q curveQuestion, r CurveRequest) (*Regression, error) {
	asked, err := a.curve(rows, q)
	if err != nil {
		return nil, err
	}
	columns, err := covariates(q.givens, rows)
	if err != nil {
		return nil, err
	}
	a.Given, columns = told(q.givens, columns, q.usual)
	f, err := newDesign(rows, q.Outcome, columns, asked).fitted(a.Model)
	if errors.Is(err, ErrTooFew) {
		a.note(NoteTooFewToCorrect, rows.Sessions)
		return nil, nil
	}
	if errors.Is(err, regress.ErrNotConverged) {
		a.note(NoteUnsettled, 0)
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	f.Given = a.Given
	if !f.tellsAll() {
		by, err := a.explains(f)
		if err != nil {
			return nil, err
		}
		a.Notes = append(a.Notes, Note{Kind: NoteExplained, Group: -1, Factor: by})
		return nil, nil
	}
	low, high := a.Rug[0].At, a.Rug[len(a.Rug)-1].At
	if err := a.points(f, CurveSteps(a.Over, r.Units, low, high)); err != nil {
		return nil, err
	}
	if err := a.tests(f); err != nil {
		return nil, err
	}
	a.Method = f.method(f.sandwich)
	a.Notes = append(a.Notes, f.notesOn()...)
	if asked.spline == nil {
		a.note(NoteStraight, len(rows.Groups))
	}
	return f, a.believe(f, priorOr(r.Prior))
}

// curve codes the number asked about.
func (a *CurveAnswer) curve(rows *facts.Rows, q curveQuestion) (covariate, error) {
	column := rows.By[0]
	weight := exposureByLevel(column, cellExposure(rows))
	values := numbers(column)
	spline, err := q.spline(values, weight)
	if errors.Is(err, regress.ErrFewValues) {
		return lineOf(column, values, weight), nil
	}
	if err != nil {
		return covariate{}, err
	}
	a.Knots = spline.Knots()
	low, high := spline.Boundary()
	a.Boundary = []float64{low, high}
	return curveOf(column, values, spline), nil
}

// spline places the knots as asked for, and what was not asked for by the exposure.
func (q curveQuestion) spline(values, weight []float64) (*regress.NaturalSpline, error) {
	if len(q.knots) == 0 {
		return regress.NewWeightedSpline(values, weight)
	}
	if low, high := slices.Min(values), slices.Max(values); q.knots[0] <= low || q.knots[len(q.knots)-1] >= high {
		return nil, journal.Invalidf("knots must lie where it was fished, between %g and %g in the unit stored; a number without a unit is in that unit", low, high)
	}
	ends := q.boundary
	if len(ends) == 0 {
		var err error
		if ends, err = regress.WeightedQuantiles(values, weight, 0.05, 0.95); err != nil {
			return nil, err
		}
	}
	spline, err := regress.NewNaturalSpline(q.knots, ends[0], ends[1])
	if err != nil {
		return nil, journal.Invalidf("the knots must lie within the boundary of the curve, here where 5%% and 95%% of the fishing was done; name a wider boundary too")
	}
	return spline, nil
}

// tellsAll reports whether the rows tell the curve from the givens, and all of its bends.
func (f *Regression) tellsAll() bool {
	for j := range f.asked.columns {
		weights := make([]float64, f.asked.columns)
		weights[j] = 1
		if !f.tells(f.contrast(weights)) {
			return false
		}
	}
	return true
}

// explains is the given without which the curve could be told; none where it takes several. It refuses
// knots that can't be told whatever is given.
func (a *CurveAnswer) explains(f *Regression) (by journal.Factor, err error) {
	tells := func(d *design) (bool, error) {
		fit, err := d.fitOnly()
		if errors.Is(err, regress.ErrNotConverged) {
			return false, nil
		}
		if err != nil {
			return false, fmt.Errorf("draw it with less given: %w", err)
		}
		rest := Regression{design: d, fit: fit}
		rest.never, err = regress.Dependencies(&d.cells, fit.Aliased)
		return err == nil && rest.tellsAll(), err
	}
	told, err := tells(f.given(nil, f.exposure))
	if err != nil {
		return by, err
	}
	if !told {
		return by, journal.Invalidf("there are too few different values of %s for a curve with so many knots; name fewer of them, or none", strings.ToLower(a.Over.Title))
	}
	for i, g := range f.givens {
		if told, err = tells(f.without(i, f.exposure)); err != nil || told && g.columns > 0 {
			return f.Given[i].Factor, err
		}
	}
	return by, nil
}

// points fills the curve at the given values, and the chance of each where it was fished to be best.
func (a *CurveAnswer) points(f *Regression, at []float64) error {
	mean, alone := f.averageRow(), 0
	low, high := FishedRange(a.Rug, FishedShare)
	var candidates [][]float64
	var places []int // of the candidates among the points
	for i, v := range at {
		c := slices.Clone(mean)
		copy(c[f.first:], f.asked.row(v))
		point := CurvePoint{At: v, Rate: math.Exp(f.estimate(c))}
		contrast, err := f.tester.Contrast(c)
		switch {
		case err == nil:
			wide := contrast.Ratio(Confidence)
			point.Low, point.High, point.SELog, point.HasInterval = wide.Low, wide.High, contrast.SE, true
		case errors.Is(err, regress.ErrOneCluster) || errors.Is(err, regress.ErrNoSpread):
			alone++
		default:
			return err
		}
		a.Points, a.Best = append(a.Points, point), append(a.Best, Chance{At: v})
		if v >= low-onGrid && v <= high+onGrid {
			candidates, places = append(candidates, c), append(places, i)
		}
	}
	if alone > 0 {
		a.note(NoteOneSession, alone)
	}
	if len(candidates) < 2 {
		return nil
	}
	if a.Highest {
		for _, c := range candidates {
			for j := range c {
				c[j] = -c[j]
			}
		}
	}
	chances, err := regress.ChanceLowest(f.fit, f.tester.Covariance(), candidates, curveDraws, curveSeed)
	if err != nil {
		return err
	}
	for i, place := range places {
		a.Best[place].Probability = answer.Known(Tidy(chances[i]))
	}
	return nil
}

// onGrid is what rounding may take a point off the end of a range, in the storage unit.
const onGrid = 1e-6

// The draws behind the probabilities, the same ones each time.
const (
	curveDraws = 4000
	curveSeed  = 1
)

// averageRow holds every column of the givens at its exposure-weighted mean, leaving
// out those that the fit left out, and none of what is asked about.
func (f *Regression) averageRow() []float64 {
	mean := make([]float64, f.cells.P)
	total := 0.0
	for i, t := range f.cells.Exposure {
		total += t
		for j, x := range f.cells.Row(i)[:f.first] {
			mean[j] += t * x
		}
	}
	for j := range mean[:f.first] {
		mean[j] /= total
	}
	for _, j := range f.fit.Aliased {
		mean[j] = 0
	}
	return mean
}

// tests fills the p-values.
func (a *CurveAnswer) tests(f *Regression) error {
	var any [][]float64
	for j := range f.asked.columns {
		weights := make([]float64, f.asked.columns)
		weights[j] = 1
		any = append(any, f.contrast(weights))
	}
	var err error
	if a.Matters, err = f.wald(any); err != nil || f.asked.spline == nil {
		return err
	}
	var bends [][]float64
	for _, b := range f.asked.spline.Bends() {
		bends = append(bends, f.contrast(b))
	}
	a.Bends, err = f.wald(bends)
	return err
}

// wald is the p-value of all contrasts being zero, nil when there are too few sessions for it.
func (f *Regression) wald(contrasts [][]float64) (*float64, error) {
	test, err := f.tester.Wald(contrasts)
	if errors.Is(err, regress.ErrFewClusters) || errors.Is(err, regress.ErrOneCluster) || errors.Is(err, regress.ErrNoSpread) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return answer.Known(test.P), nil
}
