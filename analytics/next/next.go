// Package next says what is worth finding out next: open questions, by the minutes that a few more hours of fishing would save.
package next

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"

	"rigtally/analytics"
	"rigtally/analytics/plan"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// More are the hours of fishing that finding out is weighed by.
const More = 10.0

// Request asks what is worth finding out.
type Request struct {
	Prior float64 // as in analytics.Request
	Units units.System
}

// Answer lists the open questions.
type Answer struct {
	Questions []Question // those whose answer saves minutes, the most first
	Apart     []Question // those of outcomes that cost no minutes, the nearest to an answer first
	Hours     float64    // of a season: the most fished in one of the last two with any fishing
	More      float64    // hours of fishing that are weighed
	Prior     float64    // standard deviation of log ratios before anything was fished
}

// Question is one that is open.
type Question struct {
	Outcome   journal.Outcome
	By        journal.Factor
	Rates     *analytics.RateAnswer  // of a factor of words
	Curve     *analytics.CurveAnswer // of a number
	Minutes   float64                // that an event costs; 0 for one that costs none
	From      plan.Origin            // of Minutes
	Gain      float64                // minutes a season that More hours are expected to save
	MoreHours *float64               // until the comparison nearest to an answer settles
}

// asked are the questions of what one ties that are looked at, with the input that says what an event costs.
var asked = []struct{ outcome, by, minutes string }{
	{"tangles", "tag-length", plan.TangleMinutes},
	{"tangles", "junction", plan.TangleMinutes},
	{"tangles", "facing", plan.TangleMinutes},
	{"tangles", "prop", plan.TangleMinutes},
	{"tangles", "hang", plan.TangleMinutes},
	{"tangles", "swivel", plan.TangleMinutes},
	{"junction-break", "junction", plan.BreakMinutes},
	{"foul-hook", "hang", ""},
	{"foul-hook", "facing", ""},
	{"loss", "hang", ""},
	{"hookups", "hang", ""},
}

// Ask weighs the open questions of a journal.
func Ask(ctx context.Context, j plan.Keeper, r Request) (Answer, error) {
	a := Answer{More: More, Prior: cmp.Or(r.Prior, analytics.PriorSD)}
	var err error
	if a.Hours, err = seasonHours(ctx, j); err != nil {
		return a, fmt.Errorf("tell how much a season is fished: %w", err)
	}
	inputs, err := plan.Inputs(ctx, j, r.Units)
	if err != nil {
		return a, err
	}
	list := make([]*Question, len(asked))
	var asking errgroup.Group
	asking.SetLimit(runtime.GOMAXPROCS(0))
	for i, of := range asked {
		asking.Go(func() (err error) {
			list[i], err = a.question(ctx, j, of.outcome, of.by, inputs[of.minutes], r)
			return err
		})
	}
	if err := asking.Wait(); err != nil {
		return a, err
	}
	for _, q := range list {
		switch {
		case q == nil:
		case q.Minutes > 0:
			a.Questions = append(a.Questions, *q)
		default:
			a.Apart = append(a.Apart, *q)
		}
	}
	slices.SortStableFunc(a.Questions, func(x, y Question) int { return cmp.Compare(y.Gain, x.Gain) })
	slices.SortStableFunc(a.Apart, func(x, y Question) int { return cmp.Compare(orLast(x.MoreHours), orLast(y.MoreHours)) })
	return a, nil
}

func orLast(hours *float64) float64 {
	if hours == nil {
		return math.Inf(1)
	}
	return *hours
}

// seasonHours are the hours fished in one of the last two seasons with any, whichever has more: the
// season under way may have just begun. Hours in which one of two common outcomes was counted are hours.
func seasonHours(ctx context.Context, j analytics.Asker) (float64, error) {
	hours := 0.0
	for _, outcome := range []string{"tangles", "hookups"} {
		a, err := analytics.Rates(ctx, j, analytics.Request{Outcome: outcome, By: []string{"season"}, Given: []string{analytics.NoGiven}})
		if err != nil {
			return 0, err
		}
		for _, g := range a.Groups[max(0, len(a.Groups)-2):] {
			hours = max(hours, g.Hours)
		}
	}
	return hours, nil
}

// question is nil when there is nothing to ask, or it is settled.
func (a Answer) question(ctx context.Context, j analytics.Asker, outcome, by string, costs plan.Input, r Request) (*Question, error) {
	f, err := journal.FactorByKey(by)
	if err != nil {
		return nil, err
	}
	q := Question{By: f, Minutes: costs.Value, From: costs.From}
	cost := analytics.Cost{Minutes: costs.Value, Hours: a.Hours, More: a.More}
	if f.Quantity != journal.Words {
		return q.ofCurve(ctx, j, outcome, cost, r)
	}
	found, err := analytics.Rates(ctx, j, analytics.Request{Outcome: outcome, By: []string{by}, Prior: r.Prior, Units: r.Units})
	if invalid := (*journal.Invalid)(nil); errors.As(err, &invalid) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	q.Outcome, q.Rates = found.Outcome, &found
	for _, g := range found.Groups {
		if v := g.Versus; v != nil && v.Verdict != "" && v.Verdict != stat.Differs && v.Verdict != stat.SameForPractice && v.MoreHours != nil &&
			(q.MoreHours == nil || *v.MoreHours < *q.MoreHours) {
			q.MoreHours = v.MoreHours
		}
	}
	if q.MoreHours == nil {
		return nil, nil
	}
	if q.Minutes > 0 {
		if q.Gain, _, err = found.Worth(cost); err != nil {
			return nil, err
		}
	}
	return &q, nil
}

// ofCurve asks it of a number.
func (q Question) ofCurve(ctx context.Context, j analytics.Asker, outcome string, cost analytics.Cost, r Request) (*Question, error) {
	found, err := analytics.Curve(ctx, j, analytics.CurveRequest{Outcome: outcome, Over: q.By.Key, Prior: r.Prior, Units: r.Units})
	if invalid := (*journal.Invalid)(nil); errors.As(err, &invalid) {
		return nil, nil
	}
	if err != nil || found.Matters == nil {
		return nil, err
	}
	q.Outcome, q.Curve = found.Outcome, &found
	var ok bool
	if q.Gain, ok, err = found.Worth(cost); err != nil || !ok {
		return nil, err
	}
	return &q, nil
}
