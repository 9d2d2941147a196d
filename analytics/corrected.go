package analytics

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"rigtally/analytics/answer"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/regress"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// Corrected is a comparison with the reference group like for like: the givens' differences taken out.
type Corrected struct {
	Ratio  *float64 `json:"ratio"`
	Low    *float64 `json:"ratio_low"` // of the 95% interval
	High   *float64 `json:"ratio_high"`
	P      *float64 `json:"p"`      // two-sided
	SELog  *float64 `json:"se_log"` // standard error of the log of the ratio
	DF     *float64 `json:"df"`     // degrees of freedom of Student's t
	Model  Model    `json:"model"`
	Method string   `json:"method"`

	// MarginalRatio is what a fit without the sessions' multiplier says, where what is compared was changed
	// because of what happened (RateAnswer.FindChanged); else nil.
	MarginalRatio *float64 `json:"marginal_ratio"`
}

// Correction is a log ratio with the givens' differences taken out.
type Correction struct {
	regress.Contrast
	Method  string
	Told    bool     // the ratio can be told
	Bounded bool     // and its interval
	Why     NoteKind // what is missing, when not
}

// Comparing says how groups are compared.
type Comparing struct {
	Outcome    journal.Outcome
	Model      Model
	Givens     []Given
	Usual      bool      // the givens are the usual ones, of which those that are the same everywhere drop out
	Reference  int       // the group that the others are held against
	Dispersion []float64 // of each group, by which a marginal fit widens what the model alone vouches for; none for 1
}

// FitGroups compares every group with the reference by a regression with log link: the groups
// as factor of interest, the givens beside them, and sessions as the independent units (the project's
// statistics, §11, or §4 for a marginal fit). Its error may be ErrTooFew or regress.ErrAllZero.
func FitGroups(rows *facts.Rows, c Comparing) (*Regression, []Correction, error) {
	columns, err := covariates(c.Givens, rows)
	if err != nil {
		return nil, nil, err
	}
	givens, columns := told(c.Givens, columns, c.Usual)
	f, err := newDesign(rows, c.Outcome, columns, groupsAgainst(rows, c.Reference)).fitted(modelOf(c.Model, c.Outcome))
	if err != nil {
		return nil, nil, err
	}
	f.Given = givens
	list := make([]Correction, len(rows.Groups))
	for g := range rows.Groups {
		if g != c.Reference {
			dispersion := 1.0
			if c.Dispersion != nil {
				dispersion = max(c.Dispersion[g], c.Dispersion[c.Reference])
			}
			if list[g], err = f.correct(g, c, dispersion); err != nil {
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

// correct compares a group with the reference that the regression was fitted against.
func (f *Regression) correct(group int, how Comparing, dispersion float64) (Correction, error) {
	c := f.against(group)
	if !f.tells(c) {
		return Correction{Why: NoteExplained}, nil
	}
	own, reference := f.rows.Groups[group], f.rows.Groups[how.Reference]
	sessions := min(own.Sessions, reference.Sessions)
	told := Correction{Told: true, Contrast: regress.Contrast{Estimate: f.estimate(c)}, Method: f.method(f.sandwich)}
	switch {
	case (own.K == 0 || reference.K == 0) && how.Outcome.Measure == journal.AmountPer:
		return Correction{Why: NoteNoneToCorrect}, nil // the penalty is worth half an event, but how much is half an event?
	case (own.K == 0 || reference.K == 0) && f.Model == Marginal:
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

// degrees takes half the sessions of the smaller of the two groups that a marginal fit compares, where these
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

// correct adds the like-for-like comparisons to an answer, whose groups are those of the rows.
func (a *RateAnswer) correct(rows *facts.Rows, usual bool) error {
	columns, err := covariates(a.Given, rows)
	if err != nil {
		return err
	}
	all := a.Given // as the rows have them
	a.Given, _ = told(all, columns, usual)
	if a.Reference < 0 || len(a.Groups) < 2 || a.Total.Events == 0 {
		return nil // what is missing is noted anyway
	}
	how := Comparing{Outcome: a.Outcome, Model: a.Model, Givens: all, Usual: usual, Reference: a.Reference, Dispersion: make([]float64, len(a.Groups))}
	for i, g := range a.Groups {
		how.Dispersion[i] = g.Dispersion
	}
	f, list, err := FitGroups(rows, how)
	switch {
	case errors.Is(err, ErrTooFew):
		a.Notes = append(a.Notes, Note{Kind: NoteTooFewToCorrect, Count: rows.Sessions, Group: -1})
		return nil
	case errors.Is(err, regress.ErrNotConverged):
		a.Notes = append(a.Notes, Note{Kind: NoteUnsettled, Group: -1})
		return nil
	case err != nil:
		return err
	}
	a.Given = f.Given
	a.Notes = append(a.Notes, f.notesOn()...)
	if err := a.judgeCorrected(f, list); err != nil {
		return err
	}
	if a.weighed, err = f.believe(list, a.Prior); err != nil {
		return err
	}
	a.Bet = a.weighed.bet(a.Reference, a.Outcome.MoreIsBetter(), a.Prior)
	return a.noteMoved(f)
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
// the like-for-like comparison.
func (a *RateAnswer) judgeCorrected(f *Regression, list []Correction) error {
	p, equal := make([]*float64, len(list)), make([]stat.Interval, len(list))
	for i, c := range list {
		if i == a.Reference {
			continue
		}
		switch c.Why {
		case "":
		case NoteExplained:
			a.Notes = append(a.Notes, f.Obstacle(i, a.Reference))
		default:
			a.Notes = append(a.Notes, Note{Kind: c.Why, Group: i})
		}
		if !c.Told {
			continue
		}
		out := &Corrected{Ratio: answer.Known(math.Exp(c.Estimate)), Model: f.Model, Method: c.Method}
		a.Groups[i].Corrected = out
		if !c.Bounded {
			continue
		}
		wide := c.Ratio(Confidence)
		out.Low, out.High, out.SELog, out.DF = answer.Known(wide.Low), answer.Known(wide.High), answer.Known(c.SE), answer.Known(c.DF)
		out.P = answer.Known(c.P(0))
		p[i], equal[i] = out.P, c.Ratio(Equivalence)
	}
	if err := a.judge(p, equal); err != nil {
		return err
	}
	for i := range a.Groups {
		if v := a.Groups[i].Versus; v != nil && v.Verdict != "" {
			v.MoreHours = answer.Known(a.moreHours(v.Verdict, list[i]))
		}
	}
	return nil
}

// moreHours are those until a comparison settles; none where it has.
func (a *RateAnswer) moreHours(v stat.Verdict, c Correction) float64 {
	if v == stat.Differs || v == stat.SameForPractice {
		return 0
	}
	return MoreHours(a.Total.Hours, c.Estimate, c.SE, math.Log(PlanRatio))
}

// Obstacle says why a group can't be told from the reference like for like: of the first given of which the two share
// no level, the group's levels.
func (f *Regression) Obstacle(group, reference int) Note {
	n := Note{Kind: NoteExplained, Group: group}
	for i, g := range f.givens {
		own, other := map[int32]bool{}, map[int32]bool{}
		for cell, at := range f.rows.Group {
			if f.of[cell] < 0 {
				continue
			}
			switch int(at) {
			case group:
				own[g.of[cell]] = true
			case reference:
				other[g.of[cell]] = true
			}
		}
		apart := true
		for level := range own {
			apart = apart && !other[level]
		}
		if !apart || g.levels == nil {
			continue
		}
		n.Factor = f.Given[i].Factor
		for level := range own {
			n.Words = append(n.Words, g.levels[level].Word)
		}
		slices.Sort(n.Words)
		return n
	}
	return n
}

// notesOn says which givens change nothing, too.
func (f *Regression) notesOn() []Note {
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
			list = append(list, Note{Kind: NoteGivenSame, Group: -1, Factor: f.Given[i].Factor})
		case left > 0:
			list = append(list, Note{Kind: NoteGivenRepeats, Count: left, Group: -1, Factor: f.Given[i].Factor})
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
	if f.sandwich == methodCR2 || f.rows.Sessions < manySessions {
		list = append(list, Note{Kind: NoteFewToCorrect, Group: -1, Count: f.rows.Sessions})
	}
	return list
}
