package claim

import (
	"errors"
	"math"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/regress"
	"rigtally/journal/facts"
)

// planLog is the smallest log ratio worth planning for.
func planLog() float64 { return math.Log(stat.PlanRate(1, 1)) }

// contrast sets one group against another, like for like.
func (a *Answer) contrast(rows *facts.Rows, level, versus int) error {
	how, err := a.comparing()
	if err != nil {
		return err
	}
	how.Reference = versus
	f, list, err := analytics.FitGroups(rows, how)
	if err != nil {
		return a.unfitted(err, rows)
	}
	a.noteAll(f)
	a.take(list[level], planLog())
	return nil
}

// comparing is how rates are compared, with what the claim holds equal.
func (a *Answer) comparing() (analytics.Comparing, error) {
	given, usual, err := analytics.GivensFor(a.Claim.Given, a.Factor)
	return analytics.Comparing{Outcome: a.Outcome, Givens: given, Usual: usual}, err
}

// slope tests the straight line of a number, per step.
func (a *Answer) slope(rows *facts.Rows) error {
	how, err := a.comparing()
	if err != nil {
		return err
	}
	f, err := analytics.FitLine(rows, how)
	if errors.Is(err, analytics.ErrOneValue) {
		a.note(NoteOneValue, 0)
		return nil
	}
	if err != nil {
		return a.unfitted(err, rows)
	}
	a.noteAll(f)
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

// noteAll notes how a regression was found.
func (a *Answer) noteAll(f *analytics.Regression) {
	for _, n := range f.Notes() {
		a.note(n.Kind, n.Count)
	}
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
