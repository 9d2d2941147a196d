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

// contrast sets every group against the claim's other side, as the question about the factor
// does, and takes the claim's own side from it.
func (a *Answer) contrast(rows *facts.Rows, level, versus int, how analytics.Comparing) error {
	how.Reference = versus
	f, list, err := analytics.FitGroups(rows, how)
	if err != nil {
		return a.unfitted(err, rows)
	}
	a.noteAll(f)
	p := make([]*float64, len(list))
	for i, c := range list {
		if i != versus && c.Bounded {
			p[i] = answer.Known(c.P(0))
		}
	}
	q, err := stat.AdjustKnown(p)
	if err != nil {
		return err
	}
	if list[level].Why == analytics.NoteExplained {
		a.Notes = append(a.Notes, f.Obstacle(level, versus))
	}
	a.take(list[level], q[level], 1, hoursOf(rows))
	return nil
}

// comparing is how rates are compared, with what the claim holds equal.
func (a *Answer) comparing() (analytics.Comparing, error) {
	given, usual, err := analytics.GivensFor(a.Claim.Given, a.Factor)
	return analytics.Comparing{Outcome: a.Outcome, Givens: given, Usual: usual}, err
}

// slope tests the straight line of a number, per step. Whether it matters for practice is judged over the
// middle four fifths of what was fished.
func (a *Answer) slope(rows *facts.Rows, how analytics.Comparing) error {
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
	if c.Why == analytics.NoteExplained {
		a.note(c.Why, 0)
	}
	var p *float64
	if c.Bounded {
		p = answer.Known(c.P(0))
	}
	a.take(c, p, span/math.Abs(a.Step), hoursOf(rows))
	return nil
}

func hoursOf(rows *facts.Rows) float64 {
	hours := 0.0
	for _, g := range rows.Groups {
		hours += g.Hours
	}
	return hours
}

// take concludes from a correction what it tells. Q is its p adjusted over the comparisons of the question, wide the
// number of steps over which a difference is judged for practice, and hours are those behind the question.
func (a *Answer) take(c analytics.Correction, q *float64, wide, hours float64) {
	if c.Why != "" && c.Why != analytics.NoteExplained {
		a.note(c.Why, 0)
	}
	if !c.Told {
		return
	}
	a.Ratio, a.Method = answer.Known(math.Exp(c.Estimate)), c.Method
	if !c.Bounded || q == nil {
		return
	}
	interval := c.Ratio(analytics.Confidence)
	a.Low, a.High, a.SELog, a.DF = answer.Known(interval.Low), answer.Known(interval.High), answer.Known(c.SE), answer.Known(c.DF)
	across := regress.Contrast{Estimate: c.Estimate * wide, SE: c.SE * wide, DF: c.DF}
	a.P, a.Q, a.Verdict = answer.Known(c.P(0)), q, stat.Judge(*q, across.Ratio(analytics.Equivalence))
	more := 0.0
	if a.Verdict != stat.Differs && a.Verdict != stat.SameForPractice {
		more = analytics.MoreHours(hours, across.Estimate, across.SE, math.Log(analytics.PlanRatio))
	}
	a.MoreHours = answer.Known(more)
}

// noteAll notes how a regression was found.
func (a *Answer) noteAll(f *analytics.Regression) {
	a.Given = f.Given
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
