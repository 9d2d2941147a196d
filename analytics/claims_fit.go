package analytics

import (
	"errors"
	"math"
	"slices"

	"rigtally/analytics/stat"
	"rigtally/journal"
)

// planLog is the smallest log ratio worth planning for.
func planLog() float64 { return math.Log(stat.PlanRate(1, 1)) }

// contrast sets one group against another by the corrected regression.
func (a *ClaimAnswer) contrast(rows *journal.Rows, level, versus int) error {
	columns, err := a.covariates(rows)
	if err != nil {
		return err
	}
	dispersion, err := a.dispersion(rows)
	if err != nil {
		return err
	}
	f, list, err := correctGroups(rows, columns, versus, a.Outcome.Measure == journal.AmountPer, dispersion)
	if err != nil {
		return a.unfitted(err, rows)
	}
	a.noteFit(f)
	if err := f.careful(); err != nil {
		return a.unfitted(err, rows)
	}
	c := list[level]
	if c.bounded {
		if c, err = f.correction(level, versus, a.Outcome.Measure == journal.AmountPer, max(dispersion[level], dispersion[versus])); err != nil {
			return err
		}
	}
	if c.why != "" {
		a.note(c.why, 0)
	}
	switch {
	case !c.told:
	case !c.bounded:
		a.Ratio, a.Method = known(math.Exp(c.Estimate)), c.method
	default:
		a.conclude(c.Contrast, c.method, planLog())
	}
	return nil
}

func (a *ClaimAnswer) covariates(rows *journal.Rows) ([]covariate, error) {
	list, err := givens(a.Claim.Given)
	if err != nil {
		return nil, err
	}
	return covariates(list, rows)
}

// dispersion is by how much each group's count scatters beyond chance.
func (a *ClaimAnswer) dispersion(rows *journal.Rows) ([]float64, error) {
	sums := make([]stat.Sums, len(rows.Groups))
	for i, g := range rows.Groups {
		sums[i] = sumsOf(g)
	}
	if a.Outcome.Measure == journal.AmountPer {
		return slices.Repeat([]float64{1}, len(sums)), nil
	}
	d, err := stat.Disperse(kind(a.Outcome), sums, rows.Sessions)
	return d.Phi, err
}

// unfitted notes why there is no regression; what it does not know is passed on.
func (a *ClaimAnswer) unfitted(err error, rows *journal.Rows) error {
	switch {
	case errors.Is(err, errTooFew), errors.Is(err, stat.ErrFewClusters):
		a.note(NoteTooFewToCorrect, rows.Sessions)
	case errors.Is(err, stat.ErrNotConverged):
		a.note(NoteUnsettled, 0)
	default:
		return err
	}
	return nil
}

// manySessionsForBoards is the number of sessions from which the board trusts the
// sandwich variance as it is. Below, the bias-reduced one is taken, also where a
// single comparison would do without: a board is judged by the smallest of its
// p-values, and that far out in the tail the plain sandwich is too narrow. With
// it up to 8% of boards under no effect say that some claim holds, at 80
// sessions, and 6% at 400.
const manySessionsForBoards = 1000

// careful makes the variance that of a board.
func (f *fitted) careful() error {
	if f.sandwich == methodCR2 || f.rows.Sessions >= manySessionsForBoards {
		return nil
	}
	return f.reduceBias()
}

// noteFit notes how the regression was found, where that is not as usual.
func (a *ClaimAnswer) noteFit(f *fitted) {
	if f.fit.Penalised {
		a.note(NotePenalised, 0)
	}
	if f.sandwich == methodCR2 {
		a.note(NoteFewToCorrect, f.rows.Sessions)
	}
}

// slope tests the straight line of a number, per step.
func (a *ClaimAnswer) slope(rows *journal.Rows) error {
	columns, err := a.covariates(rows)
	if err != nil {
		return err
	}
	exposure := cellExposure(rows)
	values, weight := numbers(rows.By[0]), exposureByLevel(rows.By[0], exposure)
	line := lineOf(rows.By[0], values, weight)
	if line.columns == 0 {
		a.note(NoteOneValue, 0)
		return nil
	}
	f, err := newDesign(rows, columns, line).fitted()
	if err != nil {
		return a.unfitted(err, rows)
	}
	a.noteFit(f)
	if err := f.careful(); err != nil {
		return a.unfitted(err, rows)
	}
	along := f.contrast([]float64{a.Step / line.scale})
	if !f.tells(along) {
		a.note(NoteExplained, 0)
		return nil
	}
	c, err := f.tester.Contrast(along)
	switch {
	case errors.Is(err, stat.ErrOneCluster), errors.Is(err, stat.ErrNoSpread):
		a.Ratio, a.Method = known(math.Exp(f.estimate(along))), f.method(f.sandwich)
		a.note(NoteOneSession, 0)
		return nil
	case err != nil:
		return err
	}
	if f.sandwich == methodHC1 {
		c.DF = degrees(c.DF, tellingSessions(rows, values))
	}
	plan, err := a.planSlope(values, weight, 2*line.scale)
	if err != nil {
		return err
	}
	a.conclude(c, f.method(f.sandwich), plan)
	return nil
}

// tellingSessions is how many equal sessions would tell as much of a slope as
// those there are: (Σw)²/Σw² of what each has of the number's sum of squares
// about its mean, by exposure (the effective number of clusters in the manner of
// Kish 1965, Survey Sampling). A number that changed in few sessions is known
// from those alone.
func tellingSessions(rows *journal.Rows, values []float64) int {
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

// planSlope is the log ratio per step that adds up to the smallest worth
// planning for over the middle four fifths of what was fished, or over the whole
// range where these have one value.
func (a *ClaimAnswer) planSlope(values, weight []float64, whole float64) (float64, error) {
	ends, err := stat.WeightedQuantiles(values, weight, 0.1, 0.9)
	if err != nil {
		return 0, err
	}
	span := ends[1] - ends[0]
	if span <= 0 {
		span = whole
	}
	return planLog() * math.Abs(a.Step) / span, nil
}
