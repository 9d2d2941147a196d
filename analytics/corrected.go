package analytics

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/regress"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// Corrected is a comparison with the reference group in which the givens'
// differences are taken out.
type Corrected struct {
	Ratio  *float64 `json:"ratio"`
	Low    *float64 `json:"ratio_low"` // of the 95% interval
	High   *float64 `json:"ratio_high"`
	P      *float64 `json:"p"`      // two-sided
	SELog  *float64 `json:"se_log"` // standard error of the log of the ratio
	DF     *float64 `json:"df"`     // degrees of freedom of Student's t
	Method string   `json:"method"`
}

// Correction is a log ratio with the givens' differences taken out.
type Correction struct {
	regress.Contrast
	Method  string
	Told    bool     // the ratio can be told
	Bounded bool     // and its interval
	Why     NoteKind // what is missing, when not
}

// FitGroups compares every group with the reference by the regression of §4
// of the project's statistics: log link, the groups as factor of interest, the givens
// beside them, variance clustered by session. Its error may be ErrTooFew or regress.ErrAllZero.
// Dispersion, a factor for each group, widens what the model alone vouches for.
func FitGroups(rows *facts.Rows, givens []Given, reference int, amounts bool, dispersion []float64) (*Regression, []Correction, error) {
	columns, err := covariates(givens, rows)
	if err != nil {
		return nil, nil, err
	}
	f, err := newDesign(rows, columns, groupsAgainst(rows, reference)).fitted()
	if err != nil {
		return nil, nil, err
	}
	list := make([]Correction, len(rows.Groups))
	for g := range rows.Groups {
		if g != reference {
			if list[g], err = f.Correct(g, reference, amounts, max(dispersion[g], dispersion[reference])); err != nil {
				return nil, nil, err
			}
		}
	}
	return f, list, nil
}

// groupsAgainst has a column for each group but the reference.
func groupsAgainst(rows *facts.Rows, reference int) covariate {
	var others []int
	for g := range rows.Groups {
		if g != reference {
			others = append(others, g)
		}
	}
	return indicators(journal.Factor{}, rows.Group, len(rows.Groups), others)
}

// against is the contrast of a group with the reference.
func (f *Regression) against(group int) []float64 { return f.contrast(f.asked.rows[group]) }

// Correct compares a group with the reference that the regression was fitted against.
func (f *Regression) Correct(group, reference int, amounts bool, dispersion float64) (Correction, error) {
	c := f.against(group)
	if !f.tells(c) {
		return Correction{Why: NoteExplained}, nil
	}
	sessions := min(f.rows.Groups[group].Sessions, f.rows.Groups[reference].Sessions)
	told := Correction{Told: true, Contrast: regress.Contrast{Estimate: f.estimate(c)}, Method: f.method(f.sandwich)}
	switch {
	case f.rows.Groups[group].K == 0 || f.rows.Groups[reference].K == 0:
		if amounts { // the penalty is worth half an event, but how much is half an event?
			return Correction{Why: NoteNoneToCorrect}, nil
		}
		told.Contrast, told.Method, told.Bounded = f.byModel(c, dispersion), f.method(methodModel), true
		return told, nil
	case sessions < 2:
		told.Why = NoteOneSession
		return told, nil
	}
	contrast, err := f.tester.Contrast(c)
	if errors.Is(err, regress.ErrOneCluster) || errors.Is(err, regress.ErrNoSpread) {
		told.Why = NoteOneSession
		return told, nil
	}
	if err != nil {
		return Correction{}, err
	}
	told.Contrast, told.Bounded = contrast, true
	if f.sandwich == methodHC1 {
		told.DF = degrees(contrast.DF, sessions)
	}
	return told, nil
}

// wellFished is the number of sessions from which a group's own scatter is known well enough.
const wellFished = 100

// degrees takes half the sessions of the smaller of the two groups compared, where these
// are few, for degrees of freedom: however many other sessions there are, the
// scatter within a group is known from its own. With one less than all sessions
// the 95% interval of a group of 6 sessions among 80 covers 84 to 89% (see the
// coverage tests), for which neither the variance nor anything else than df is changed.
func degrees(df float64, sessions int) float64 {
	if sessions < wellFished {
		return min(df, float64(sessions)/2)
	}
	return df
}

// correct adds the corrected comparisons to an answer, whose groups are those of the rows.
func (a *RateAnswer) correct(rows *facts.Rows) error {
	if a.Reference < 0 || len(a.Groups) < 2 || a.Total.Events == 0 {
		return nil // what is missing is noted anyway
	}
	dispersion := make([]float64, len(a.Groups))
	for i, g := range a.Groups {
		dispersion[i] = g.Dispersion
	}
	f, list, err := FitGroups(rows, a.Given, a.Reference, a.Outcome.Measure == journal.AmountPer, dispersion)
	if errors.Is(err, ErrTooFew) {
		a.forgetVerdicts()
		a.Notes = append(a.Notes, Note{Kind: NoteTooFewToCorrect, Count: rows.Sessions, Group: -1})
		return nil
	}
	if errors.Is(err, regress.ErrNotConverged) {
		a.forgetVerdicts()
		a.Notes = append(a.Notes, Note{Kind: NoteUnsettled, Group: -1})
		return nil
	}
	if err != nil {
		return err
	}
	if err := a.refuseExplained(f, list); err != nil {
		return err
	}
	a.Notes = append(a.Notes, f.notesOn(a.Given)...)
	if err := a.judgeCorrected(list, rows.Groups); err != nil {
		return err
	}
	return a.noteParadoxes(f)
}

// covariates codes the givens; one that is the same everywhere has no columns.
func covariates(givens []Given, rows *facts.Rows) ([]covariate, error) {
	exposure := cellExposure(rows)
	list := make([]covariate, len(givens))
	for i, g := range givens {
		var err error
		if list[i], err = newCovariate(g, rows.Given[i], exposure); err != nil {
			return nil, fmt.Errorf("code %s: %w", g.Factor.Key, err)
		}
	}
	return list, nil
}

// judgeCorrected fills the groups, and bases q, the verdict and the hours needed on
// the corrected comparison.
func (a *RateAnswer) judgeCorrected(list []Correction, groups []journal.Sums) error {
	p, equal := make([]*float64, len(list)), make([]stat.Interval, len(list))
	a.forgetVerdicts()
	for i, c := range list {
		if i == a.Reference {
			continue
		}
		if c.Why != "" {
			a.Notes = append(a.Notes, Note{Kind: c.Why, Group: i})
		}
		if !c.Told {
			continue
		}
		out := &Corrected{Ratio: answer.Known(math.Exp(c.Estimate)), Method: c.Method}
		a.Groups[i].Corrected = out
		a.Groups[i].Versus.HoursNeeded = a.hoursToSettle(i, *out.Ratio, groups)
		if !c.Bounded {
			continue
		}
		wide := c.Ratio(Confidence)
		out.Low, out.High, out.SELog, out.DF = answer.Known(wide.Low), answer.Known(wide.High), answer.Known(c.SE), answer.Known(c.DF)
		out.P = answer.Known(c.P(0))
		p[i], equal[i] = out.P, c.Ratio(Equivalence)
	}
	return a.judge(p, equal)
}

// hoursToSettle plans for the corrected ratio.
func (a *RateAnswer) hoursToSettle(group int, ratio float64, groups []journal.Sums) *float64 {
	g, ref := a.Groups[group], a.Groups[a.Reference]
	g.Rate = ref.Rate * ratio
	return a.hoursNeeded(g, ref, groups[group], groups[a.Reference])
}

// forgetVerdicts takes back what the plain comparison concluded.
func (a *RateAnswer) forgetVerdicts() {
	for i := range a.Groups {
		if v := a.Groups[i].Versus; v != nil {
			v.Q, v.Verdict = nil, stat.CannotTell
		}
	}
}

// refuseExplained says so when nothing of the factor is left after correction.
func (a *RateAnswer) refuseExplained(f *Regression, list []Correction) error {
	for i, c := range list {
		if i != a.Reference && c.Why != NoteExplained {
			return nil
		}
	}
	given, err := a.explaining(f)
	if err != nil {
		return err
	}
	what, with := strings.ToLower(a.factors()), strings.ToLower(given)
	return journal.Invalidf("%s and %s go together here: no %s was fished with more than one %s in a way that tells them apart, so correcting for %s leaves nothing of %s to compare; leave it out of what is given, or fish the other combinations too",
		what, with, with, what, with, what)
}

// factors names what is asked about.
func (a *RateAnswer) factors() string {
	var titles []string
	for _, by := range a.By {
		titles = append(titles, by.Factor.Title)
	}
	return strings.Join(titles, " and ")
}

// explaining names the given that explains all groups by itself, or all of them.
func (a *RateAnswer) explaining(f *Regression) (string, error) {
	var titles []string
	for i, g := range f.givens {
		titles = append(titles, a.Given[i].Factor.Title)
		alone := newDesign(f.rows, []covariate{g}, f.asked)
		fit, err := alone.fitOnly()
		if err != nil {
			return "", err
		}
		only := Regression{design: alone, fit: fit}
		if only.never, err = regress.Dependencies(&alone.cells, fit.Aliased); err != nil {
			return "", err
		}
		if !slices.ContainsFunc(alone.asked.rows, func(row []float64) bool {
			return slices.Contains(row, 1) && only.tells(alone.contrast(row))
		}) {
			return a.Given[i].Factor.Title, nil
		}
	}
	return strings.Join(titles, " and "), nil
}

// notesOn says which givens change nothing, too.
func (f *Regression) notesOn(givens []Given) []Note {
	var list []Note
	column := 1
	for i, g := range f.givens {
		left := 0
		for _, j := range f.fit.Aliased {
			if j >= column && j < column+g.columns {
				left++
			}
		}
		column += g.columns
		switch {
		case g.columns == 0:
			list = append(list, Note{Kind: NoteGivenSame, Group: -1, Factor: givens[i].Factor})
		case left > 0:
			list = append(list, Note{Kind: NoteGivenRepeats, Count: left, Group: -1, Factor: givens[i].Factor})
		}
	}
	return append(list, f.Notes()...)
}

// Notes says what was done for want of events or sessions.
func (f *Regression) Notes() []Note {
	var list []Note
	if f.fit.Penalised {
		list = append(list, Note{Kind: NotePenalised, Group: -1})
	}
	if f.sandwich == methodCR2 {
		list = append(list, Note{Kind: NoteFewToCorrect, Group: -1, Count: f.rows.Sessions})
	}
	return list
}
