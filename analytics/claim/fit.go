package claim

import (
	"errors"
	"math"
	"slices"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/regress"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// planLog is the smallest log ratio worth planning for.
func planLog() float64 { return math.Log(stat.PlanRate(1, 1)) }

// contrast sets one group against another by the corrected regression.
func (a *Answer) contrast(rows *facts.Rows, level, versus int) error {
	given, err := analytics.Givens(a.Claim.Given)
	if err != nil {
		return err
	}
	dispersion, err := a.dispersion(rows)
	if err != nil {
		return err
	}
	amounts := a.Outcome.Measure == journal.AmountPer
	f, list, err := analytics.FitGroups(rows, given, versus, amounts, dispersion)
	if err == nil {
		err = a.careful(f, rows)
	}
	if err != nil {
		return a.unfitted(err, rows)
	}
	c := list[level]
	if c.Bounded {
		if c, err = f.Correct(level, versus, amounts, max(dispersion[level], dispersion[versus])); err != nil {
			return err
		}
	}
	a.take(c, planLog())
	return nil
}

// slope tests the straight line of a number, per step.
func (a *Answer) slope(rows *facts.Rows) error {
	given, err := analytics.Givens(a.Claim.Given)
	if err != nil {
		return err
	}
	f, err := analytics.FitLine(rows, given)
	if errors.Is(err, analytics.ErrOneValue) {
		a.note(NoteOneValue, 0)
		return nil
	}
	if err == nil {
		err = a.careful(f, rows)
	}
	if err != nil {
		return a.unfitted(err, rows)
	}
	c, err := f.Slope(a.Step)
	if err != nil {
		return err
	}
	span, err := f.Span()
	if err != nil {
		return err
	}
	a.take(c, planLog()*math.Abs(a.Step)/span)
	return nil
}

// take concludes from a correction what it tells. Plan is the smallest log ratio worth planning for.
func (a *Answer) take(c analytics.Correction, plan float64) {
	if c.Why != "" {
		a.note(c.Why, 0)
	}
	switch {
	case !c.Told:
	case !c.Bounded:
		a.Ratio, a.Method = answer.Known(math.Exp(c.Estimate)), c.Method
	default:
		a.conclude(c.Contrast, c.Method, plan)
	}
}

// dispersion is by how much each group's count scatters beyond chance.
func (a *Answer) dispersion(rows *facts.Rows) ([]float64, error) {
	sums := make([]stat.Sums, len(rows.Groups))
	for i, g := range rows.Groups {
		sums[i] = analytics.SumsOf(g)
	}
	if a.Outcome.Measure == journal.AmountPer {
		return slices.Repeat([]float64{1}, len(sums)), nil
	}
	d, err := stat.Disperse(analytics.KindOf(a.Outcome), sums, rows.Sessions)
	return d.Phi, err
}

// manySessionsForBoards is the number of sessions from which the board trusts the
// sandwich variance as it is. Below, the bias-reduced one is taken, also where a
// single comparison would do without: a board is judged by the smallest of its
// p-values, and that far out in the tail the plain sandwich is too narrow. With
// it up to 8% of boards under no effect say that some claim holds, at 80
// sessions, and 6% at 400.
const manySessionsForBoards = 1000

// careful notes how a regression was found, and makes its variance that of a board.
func (a *Answer) careful(f *analytics.Regression, rows *facts.Rows) error {
	for _, n := range f.Notes() {
		a.note(n.Kind, n.Count)
	}
	if rows.Sessions >= manySessionsForBoards {
		return nil
	}
	return f.ReduceBias()
}

// unfitted notes why there is no regression; what it does not know is passed on.
func (a *Answer) unfitted(err error, rows *facts.Rows) error {
	switch {
	case errors.Is(err, analytics.ErrTooFew), errors.Is(err, regress.ErrFewClusters):
		a.note(analytics.NoteTooFewToCorrect, rows.Sessions)
	case errors.Is(err, regress.ErrNotConverged):
		a.note(analytics.NoteUnsettled, 0)
	default:
		return err
	}
	return nil
}
