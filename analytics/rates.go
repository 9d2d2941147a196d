package analytics

import (
	"context"
	"fmt"
	"math"

	"rigtally/analytics/stat"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// What intervals and plans go by.
const (
	// Confidence is that of every interval.
	Confidence = 0.95
	// Equivalence is the confidence level whose interval two one-sided tests at 5%
	// look at (Schuirmann 1987).
	Equivalence = 0.90
	// PlanAlpha and PlanPower are the error rate and the power that hours needed are planned for.
	PlanAlpha = 0.05
	PlanPower = 0.80
)

// fewSessions is the number of sessions below which an interval may be
// somewhat short; see the coverage table of the contributor guide.
const fewSessions = 6

// Rates asks how often something happens, divided by some factors: for each
// group the rate with its 95% interval, and the ratio to the reference group.
// Sessions are the independent units, and what they scatter beyond chance
// widens every interval. Each group is compared with the reference like for like,
// on the rows on which all that is given is noted, and that comparison alone is judged; how
// they stood as fished is told beside it.
func Rates(ctx context.Context, journalOf Asker, r Request) (RateAnswer, error) {
	q, err := r.Question()
	if err != nil {
		return RateAnswer{}, err
	}
	rows := &facts.Rows{}
	if len(q.By) > 0 {
		rows, err = journalOf.Rows(ctx, q)
	} else {
		rows.Answer, err = journalOf.Ask(ctx, q)
	}
	if err != nil {
		return RateAnswer{}, err
	}
	return RatesOf(rows, q, r)
}

// RatesOf answers a question from its rows, whose groups it sorts; of the request it looks at
// what is given and what to compare with.
func RatesOf(rows *facts.Rows, q journal.Question, r Request) (a RateAnswer, err error) {
	sortGroups(q.By, rows)
	found := rows.Answer
	a = RateAnswer{Outcome: q.Outcome, By: q.By, Where: q.Where, LeftOut: found.LeftOut, Told: found.Told, Reference: -1, Prior: priorOr(r.Prior)}
	var asked []journal.Factor
	for _, by := range q.By {
		asked = append(asked, by.Factor)
	}
	var usual bool
	if a.Given, usual, err = GivensFor(r.Given, asked...); err != nil {
		return RateAnswer{}, err
	}
	if a.Model, err = ModelNamed(r.Model); err != nil {
		return RateAnswer{}, err
	}
	a.Model = modelOf(a.Model, q.Outcome)
	if err := refuseUntimed(q.Outcome, found); err != nil {
		return RateAnswer{}, err
	}
	spread, err := a.estimate(found)
	if err != nil {
		return RateAnswer{}, fmt.Errorf("estimate %s: %w", q.Outcome.Key, err)
	}
	if err := a.chooseReference(r); err != nil {
		return RateAnswer{}, err
	}
	if err := a.compare(found.Groups); err != nil {
		return RateAnswer{}, fmt.Errorf("compare %s: %w", q.Outcome.Key, err)
	}
	a.note(spread, found)
	if len(q.By) == 0 {
		a.Given = nil
		return a, nil
	}
	if err := a.correct(rows, usual); err != nil {
		return RateAnswer{}, fmt.Errorf("correct %s: %w", q.Outcome.Key, err)
	}
	return a, nil
}

// refuseUntimed keeps minutes lost from looking like none when nobody noted any.
func refuseUntimed(o journal.Outcome, found journal.Answer) error {
	if o.Measure != journal.AmountPer {
		return nil
	}
	lost := 0.0
	for _, g := range found.Groups {
		lost += g.K
	}
	if lost == 0 && found.Untimed > 0 {
		return journal.Invalidf("no tangle here has its lost minutes noted, so the minutes lost cannot be told; note them when you log a tangle")
	}
	return nil
}

// KindOf returns how the outcome's counts scatter by chance.
func KindOf(o journal.Outcome) stat.Kind {
	if o.Measure == journal.ShareOf {
		return stat.Share
	}
	return stat.Rate
}

// SumsOf is a group's sums as the mathematics takes them.
func SumsOf(g journal.Sums) stat.Sums {
	return stat.Sums{N: g.Sessions, K: g.K, T: g.T, KK: g.KK, KT: g.KT, TT: g.TT, TTT: g.TTT}
}

// Estimate tells how often an outcome happens at each level, and at all of them together. It sorts
// the rows' groups, and those that it returns are in the same order.
func Estimate(o journal.Outcome, by []journal.By, rows *facts.Rows) (groups []Group, all Group, err error) {
	sortGroups(by, rows)
	if err := refuseUntimed(o, rows.Answer); err != nil || len(rows.Groups) == 0 {
		return nil, Group{}, err
	}
	a := RateAnswer{Outcome: o}
	if _, err := a.estimate(rows.Answer); err != nil {
		return nil, Group{}, err
	}
	all, err = together(o, rows.Answer)
	return a.Groups, all, err
}

// together estimates the rate of all groups as one.
func together(o journal.Outcome, found journal.Answer) (Group, error) {
	var sum journal.Sums
	for _, g := range found.Groups {
		sum.Stints += g.Stints
		sum.Sessions += g.Sessions
		sum.Hours += g.Hours
		sum.K += g.K
		sum.T += g.T
		sum.KK += g.KK
		sum.KT += g.KT
		sum.TT += g.TT
		sum.TTT += g.TTT
	}
	all := RateAnswer{Outcome: o}
	if _, err := all.estimate(journal.Answer{Groups: []journal.Sums{sum}, Sessions: found.Sessions}); err != nil {
		return Group{}, err
	}
	return all.Groups[0], nil
}

// estimate fills the groups with rates and intervals.
func (a *RateAnswer) estimate(found journal.Answer) (stat.Dispersion, error) {
	groups := found.Groups
	a.Total.Stints, a.Total.Sessions = found.Stints, found.Sessions
	a.Groups = make([]Group, len(groups))
	sums := make([]stat.Sums, len(groups))
	for i, g := range groups {
		sums[i] = SumsOf(g)
		a.Groups[i] = Group{Level: g.Level, Stints: g.Stints, Sessions: g.Sessions, Hours: g.Hours, Exposure: g.T, Events: Tidy(g.K), Dispersion: 1, Rate: g.K / g.T}
		a.Total.Hours += g.Hours
		a.Total.Exposure += g.T
		a.Total.Events += g.K
	}
	a.Total.Events = Tidy(a.Total.Events)
	if len(groups) == 0 {
		return stat.Dispersion{}, nil
	}
	if a.Outcome.Measure == journal.AmountPer {
		for i, s := range sums {
			interval, err := stat.AmountInterval(s, Confidence)
			if err != nil {
				return stat.Dispersion{}, err
			}
			a.Groups[i].Low, a.Groups[i].High, a.Groups[i].HasInterval = interval.Low, interval.High, !math.IsInf(interval.High, 1)
		}
		return stat.Dispersion{}, nil
	}
	d, err := stat.Disperse(KindOf(a.Outcome), sums, found.Sessions)
	if err != nil {
		return d, err
	}
	for i := range a.Groups {
		g := &a.Groups[i]
		g.Dispersion = d.Phi[i]
		k, t := d.Effective(i, sums[i])
		var interval stat.Interval
		if a.Outcome.Measure == journal.ShareOf {
			interval, err = stat.ShareInterval(k, t, Confidence)
		} else {
			interval, err = stat.RateInterval(k, t, Confidence)
		}
		if err != nil {
			return d, err
		}
		g.Low, g.High, g.HasInterval = interval.Low, interval.High, true
	}
	return d, nil
}

// Tidy removes the rounding that sums of shares of an event leave behind.
func Tidy(k float64) float64 { return math.Round(k*1e9) / 1e9 }

// note adds what the reader must know.
func (a *RateAnswer) note(spread stat.Dispersion, found journal.Answer) {
	add := func(kind NoteKind, count int, value float64) {
		a.Notes = append(a.Notes, Note{Kind: kind, Count: count, Value: value, Group: -1})
	}
	if len(a.Groups) == 0 {
		add(NoteNothing, 0, 0)
	}
	if len(a.Groups) == 1 && len(a.By) > 0 {
		add(NoteOneLevel, 1, 0)
	}
	if len(a.Groups) > 0 && a.Total.Events == 0 {
		add(NoteNoEvents, 0, 0)
	}
	few, widest := 0, 1.0
	for _, g := range a.Groups {
		if g.Sessions < fewSessions {
			few++
		}
		widest = math.Max(widest, g.Dispersion)
	}
	if spread.TooFew {
		add(NoteTooFew, 0, 0)
	} else if few > 0 {
		add(NoteFewSessions, few, 0)
	}
	if widest > 1.05 {
		add(NoteSpread, 0, widest)
	}
	if len(a.Groups) > 2 {
		add(NoteComparisons, len(a.Groups)-1, 0)
	}
	if a.Total.Events != math.Trunc(a.Total.Events) || a.hasSharedEvents() {
		add(NoteSharedEvents, 0, 0)
	}
	if found.Untimed > 0 {
		add(NoteUntimedOnly, found.Untimed, 0)
	}
	a.Notes = append(a.Notes, toldNotes(found.Told)...)
	if found.Unplaced > 0 {
		add(NoteUnplacedEvent, found.Unplaced, 0)
	}
}

// toldNotes says what was not told of what an answer used.
func toldNotes(told journal.Told) []Note {
	var list []Note
	if told.AsFair > 0 {
		list = append(list, Note{Kind: NoteAsFair, Count: told.AsFair, Group: -1})
	}
	if told.Untold > 0 {
		list = append(list, Note{Kind: NoteUntold, Count: told.Untold, Group: -1})
	}
	return list
}

func (a *RateAnswer) hasSharedEvents() bool {
	for _, g := range a.Groups {
		if g.Events != math.Trunc(g.Events) {
			return true
		}
	}
	return false
}
