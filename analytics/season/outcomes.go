package season

import (
	"errors"
	"fmt"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/claim"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/mixture"
	"rigtally/journal"
	"rigtally/journal/facts"
)

// Standard is how an outcome of a season stands to what it is held against.
type Standard string

// The words of a season's outcomes.
const (
	Better    Standard = "better"
	Worse     Standard = "worse"
	NotApart  Standard = "not distinguishable"
	Alone     Standard = "nothing to compare with"
	NoneTried Standard = "nothing to count"
)

// Outcome is an outcome of the season beside the outfit's: an angler beside
// all anglers of that season, the outfit's season beside all its seasons.
type Outcome struct {
	Outcome  journal.Outcome
	Own      analytics.Group // as counted; its exposure is 0 when nothing counts
	Kept     int             // stints of the season in which count was kept of what is counted and of what it is counted against
	Shrunk   *float64        // drawn towards the baseline; nil for minutes, which are no counts
	Low      *float64        // of the 95% interval of the shrunk value, or of the own where none is shrunk
	High     *float64        //
	Baseline analytics.Group // everyone, or every season, together
	Units    int             // anglers or seasons compared
	Varies   bool            // the likelihood sees any difference between them
	P, Q     *float64        // chance of being on the other side of the baseline, doubled; adjusted over the outcomes
	Standing Standard        //
	LeftOut  map[string]int
}

// outcomes holds every outcome against the outfit.
func (s *maker) outcomes() error {
	list := journal.Outcomes()
	s.Outcomes = make([]Outcome, len(list))
	var held errgroup.Group
	held.SetLimit(runtime.GOMAXPROCS(0))
	for i, o := range list {
		held.Go(func() error {
			out := &s.Outcomes[i]
			*out = Outcome{Outcome: o, Standing: NoneTried}
			for _, st := range s.rows.Stints {
				if s.ours(s.rows.Sessions[st.Session]) && st.Recorded.Has(o.Needs...) {
					out.Kept++
				}
			}
			if err := s.outcome(out); err != nil {
				return fmt.Errorf("hold %s against the outfit: %w", o.Key, err)
			}
			return nil
		})
	}
	if err := held.Wait(); err != nil {
		return err
	}
	return s.judgeOutcomes()
}

// unit is the name of what a session belongs to in the comparison.
func (s *maker) unit(se facts.SeasonSession) (string, bool) {
	if s.Angler != "" {
		return se.Angler, se.Day.Year == s.Year
	}
	return fmt.Sprint(se.Day.Year), true
}

func (s *maker) outcome(out *Outcome) error {
	f := factor("angler")
	rows := s.rows.Of(out.Outcome, f, nil, func(se facts.SeasonSession, _ facts.SeasonStint) (journal.Level, bool) {
		name, ok := s.unit(se)
		return journal.Level{Word: name}, ok
	})
	out.LeftOut = rows.LeftOut
	groups, all, err := analytics.Estimate(out.Outcome, []journal.By{{Factor: f}}, rows)
	if journal.IsInvalid(err) {
		return nil // nobody noted minutes
	}
	if err != nil {
		return err
	}
	name := s.Angler
	if name == "" {
		name = fmt.Sprint(s.Year)
	}
	me := slices.IndexFunc(groups, func(g analytics.Group) bool { return g.Level[0].Word == name })
	if me < 0 {
		return nil
	}
	out.Own, out.Units, out.Baseline = groups[me], len(groups), all
	if out.Outcome.Measure == journal.AmountPer {
		return out.amounts(rows.Groups, me)
	}
	return out.shrink(groups, me)
}

// shrink draws the season's rate towards the baseline.
func (out *Outcome) shrink(groups []analytics.Group, me int) error {
	events, exposure := make([]float64, len(groups)), make([]float64, len(groups))
	for i, g := range groups {
		events[i], exposure[i] = g.Events/g.Dispersion, g.Exposure/g.Dispersion
	}
	shrink, posteriors := mixture.ShrinkRates, mixture.RatePosteriors
	if out.Outcome.Measure == journal.ShareOf {
		shrink, posteriors = mixture.ShrinkShares, mixture.SharePosteriors
	}
	shrunk, err := shrink(events, exposure)
	if err != nil {
		return err
	}
	believed, err := posteriors(events, exposure)
	if err != nil {
		return err
	}
	out.Varies = !shrunk.Common
	mean, interval := out.Baseline.Rate, believed[me].Interval()
	if out.Varies {
		mean = shrunk.Means[me]
	}
	out.Shrunk, out.Low, out.High = answer.Known(mean), answer.Known(min(mean, interval.Low)), answer.Known(max(mean, interval.High))
	out.Standing = Alone
	if len(groups) < 2 {
		return nil
	}
	out.Standing = NotApart
	below := believed[me].Below(out.Baseline.Rate)
	out.P = answer.Known(min(1, 2*min(below, 1-below)))
	if !out.Varies {
		out.P = answer.Known(1)
	}
	return nil
}

// amounts compares minutes with those of all others, for minutes are no counts.
func (out *Outcome) amounts(groups []journal.Sums, me int) error {
	if out.Own.HasInterval {
		out.Low, out.High = answer.Known(out.Own.Low), answer.Known(out.Own.High)
	}
	out.Standing = Alone
	if len(groups) < 2 {
		return nil
	}
	out.Standing = NotApart
	var others stat.Sums
	for i, g := range groups {
		if i != me {
			o := analytics.SumsOf(g)
			others.N, others.K, others.T = others.N+o.N, others.K+o.K, others.T+o.T
			others.KK, others.KT, others.TT, others.TTT = others.KK+o.KK, others.KT+o.KT, others.TT+o.TT, others.TTT+o.TTT
		}
	}
	c, err := stat.RatioOfAmounts(analytics.SumsOf(groups[me]), others, analytics.Confidence)
	if errors.Is(err, stat.ErrNoEvents) {
		return nil
	}
	out.P = answer.Known(c.P)
	return err
}

// judgeOutcomes adjusts the outcomes' p over all of them and puts them into words.
func (s *maker) judgeOutcomes() error {
	var p []*float64
	for _, o := range s.Outcomes {
		p = append(p, o.P)
	}
	q, err := stat.AdjustKnown(p)
	if err != nil {
		return err
	}
	for i := range s.Outcomes {
		o := &s.Outcomes[i]
		if o.Q = q[i]; o.Q == nil {
			continue
		}
		s.Compared++
		at := o.Own.Rate
		if o.Shrunk != nil {
			at = *o.Shrunk
		}
		switch {
		case *o.Q >= claim.HoldsBelow:
		case (at > o.Baseline.Rate) == o.Outcome.MoreIsBetter():
			o.Standing = Better
		default:
			o.Standing = Worse
		}
	}
	return nil
}
