package analytics

import (
	"errors"
	"math"

	"rigtally/analytics/stat/regress"
	"rigtally/journal/facts"
)

// ErrOneValue says that a number has been the same always, so that there is no line along it.
var ErrOneValue = errors.New("the number has one value only")

// FitLine follows the number that a question is divided by as a straight line of the log rate,
// the givens beside it. Its error may be ErrOneValue, ErrTooFew or regress.ErrAllZero.
func FitLine(rows *facts.Rows, c Comparing) (*Regression, error) {
	columns, err := covariates(c.Givens, rows)
	if err != nil {
		return nil, err
	}
	givens, columns := told(c.Givens, columns, c.Usual)
	number := rows.By[0]
	line := lineOf(number, numbers(number), exposureByLevel(number, cellExposure(rows)))
	if line.columns == 0 {
		return nil, ErrOneValue
	}
	f, err := newDesign(rows, c.Outcome, columns, line).fitted(modelOf(c.Model, c.Outcome))
	if err != nil {
		return nil, err
	}
	f.Given = givens
	return f, nil
}

// Slope is the log ratio of a step along the line.
func (f *Regression) Slope(step float64) (Correction, error) {
	along := f.contrast([]float64{step / f.asked.scale})
	if !f.tells(along) {
		return Correction{Why: NoteExplained}, nil
	}
	told := Correction{Told: true, Contrast: regress.Contrast{Estimate: f.estimate(along)}, Method: f.method(f.sandwich)}
	c, err := f.tester.Contrast(along)
	switch {
	case errors.Is(err, regress.ErrOneCluster), errors.Is(err, regress.ErrNoSpread):
		told.Why = NoteOneSession
		return told, nil
	case err != nil:
		return Correction{}, err
	}
	if f.sandwich == methodHC1 {
		c.DF = degrees(c.DF, tellingSessions(f.rows, numbers(f.rows.By[0])))
	}
	told.Contrast, told.Bounded = c, true
	return told, nil
}

// Span is how far apart the ends of the middle four fifths of what was fished lie along the line,
// or those of all of it where these have one value.
func (f *Regression) Span() (float64, error) {
	number := f.rows.By[0]
	ends, err := regress.WeightedQuantiles(numbers(number), exposureByLevel(number, cellExposure(f.rows)), 0.1, 0.9)
	if err != nil {
		return 0, err
	}
	if span := ends[1] - ends[0]; span > 0 {
		return span, nil
	}
	return 2 * f.asked.scale, nil
}

// tellingSessions is how many equal sessions would tell as much of a slope as
// those there are: (Σw)²/Σw² of what each has of the number's sum of squares
// about its mean, by exposure (the effective number of clusters in the manner of
// Kish 1965, Survey Sampling). A number that changed in few sessions is known
// from those alone.
func tellingSessions(rows *facts.Rows, values []float64) int {
	of := rows.By[0].Of
	sum, total := 0.0, 0.0
	for row, cell := range rows.Cell {
		sum += rows.Exposure[row] * values[of[cell]]
		total += rows.Exposure[row]
	}
	mean := sum / total
	weight := make([]float64, rows.Sessions)
	for row, cell := range rows.Cell {
		d := values[of[cell]] - mean
		weight[rows.Session[row]] += rows.Exposure[row] * d * d
	}
	first, second := 0.0, 0.0
	for _, w := range weight {
		first += w
		second += w * w
	}
	return max(2, int(math.Round(first*first/second)))
}
