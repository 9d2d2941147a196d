package analytics

import (
	"context"
	"fmt"
	"math"

	"rigtally/analytics/stat"
	"rigtally/journal"
)

// ShrunkAnswer says how each angler does, drawn toward the outfit.
type ShrunkAnswer struct {
	Outcome journal.Outcome
	Where   []journal.Condition
	Outfit  Group // everyone together, with the exposure-weighted rate
	// Varies says that the likelihood sees variation between anglers. When it does
	// not, everyone's shrunk rate is the outfit's.
	Varies  bool
	Anglers []ShrunkAngler // by name
	LeftOut map[string]int
	Notes   []Note
}

// ShrunkAngler is one angler's own rate and the one to believe.
type ShrunkAngler struct {
	Angler           string
	Stints, Sessions int
	Hours            float64
	Exposure, Events float64
	Dispersion       float64 // of the angler's counts, 1 or more
	Rate             float64 // as counted
	Shrunk           float64
	Low, High        float64 // 95% interval of the angler's true rate
}

// Shrunk draws each angler's rate or share toward the outfit's: the fewer the
// counts behind it, the further. The prior is a gamma for rates and a beta for
// shares, fitted by marginal maximum likelihood (Marshall 1991, Applied Statistics
// 40:283) to effective counts, which are divided by the dispersion that sessions
// show, so that a few wild sessions of an angler do not look like a difference.
//
// Intervals are averaged over the priors that the counts allow
// (stat.ShrunkRateIntervals). In simulations of 3 to 20 anglers with 6 or 25
// sessions each, who differ by 0 to 100%, with sessions that vary by 0 or 60%, they
// held an angler's true rate 92 to 100% of the time, 95.6% on average. With the
// fitted prior taken for the truth it would have been 76 to 97%.
//
// Of the request, By, Versus and Given are not looked at.
func Shrunk(ctx context.Context, journalOf Asker, r Request) (ShrunkAnswer, error) {
	r.By, r.Versus, r.Given = []string{"angler"}, "", nil
	q, err := r.Question()
	if err != nil {
		return ShrunkAnswer{}, err
	}
	if q.Outcome.Measure == journal.AmountPer {
		return ShrunkAnswer{}, notCounted(q.Outcome)
	}
	rows, err := journalOf.Rows(ctx, q)
	if err != nil {
		return ShrunkAnswer{}, err
	}
	sortGroups(q.By, rows)
	plain := RateAnswer{Outcome: q.Outcome, By: q.By, Where: q.Where, LeftOut: rows.LeftOut}
	spread, err := plain.estimate(rows.Answer)
	if err != nil {
		return ShrunkAnswer{}, fmt.Errorf("estimate %s by angler: %w", q.Outcome.Key, err)
	}
	plain.note(spread, rows.Answer)
	a := ShrunkAnswer{Outcome: q.Outcome, Where: q.Where, Outfit: plain.Total, LeftOut: plain.LeftOut, Notes: plain.Notes}
	if len(plain.Groups) == 0 {
		return a, nil
	}
	if a.Outfit, err = together(q.Outcome, rows.Answer); err != nil {
		return ShrunkAnswer{}, fmt.Errorf("estimate %s of all anglers: %w", q.Outcome.Key, err)
	}
	if err := a.shrink(plain.Groups); err != nil {
		return ShrunkAnswer{}, fmt.Errorf("shrink %s: %w", q.Outcome.Key, err)
	}
	return a, nil
}

// notCounted refuses what is no count of events, such as minutes.
func notCounted(o journal.Outcome) error {
	return journal.Invalidf("%s adds up %s, which is no count; ask for tangles instead", o.Key, o.Events)
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

func (a *ShrunkAnswer) shrink(groups []Group) error {
	events, exposure := make([]float64, len(groups)), make([]float64, len(groups))
	for i, g := range groups {
		events[i], exposure[i] = g.Events/g.Dispersion, g.Exposure/g.Dispersion
	}
	shrink, intervals := stat.ShrinkRates, stat.ShrunkRateIntervals
	if a.Outcome.Measure == journal.ShareOf {
		shrink, intervals = stat.ShrinkShares, stat.ShrunkShareIntervals
	}
	shrunk, err := shrink(events, exposure)
	if err != nil {
		return err
	}
	ranges, err := intervals(events, exposure)
	if err != nil {
		return err
	}
	a.Varies = !shrunk.Common
	for i, g := range groups {
		mean := a.Outfit.Rate
		if a.Varies {
			mean = shrunk.Units[i].Mean
		}
		a.Anglers = append(a.Anglers, ShrunkAngler{
			Angler: g.Level[0].Word, Stints: g.Stints, Sessions: g.Sessions, Hours: g.Hours, Exposure: g.Exposure, Events: g.Events,
			Dispersion: g.Dispersion, Rate: g.Rate,
			Shrunk: mean, Low: math.Min(mean, ranges[i].Low), High: math.Max(mean, ranges[i].High),
		})
	}
	return nil
}
