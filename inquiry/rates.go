package inquiry

import (
	"context"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Rates asks how often something happens, at each level of a factor.
func Rates() Inquiry[analytics.Request, analytics.RateAnswer] {
	return Inquiry[analytics.Request, analytics.RateAnswer]{
		Description: Description{
			Key:   "rates",
			Title: "Say how often something happens, at each level of a factor",
			Use:   "rates OUTCOME --by FACTOR[,FACTOR]",
			Help: `Say how often something happens at each level of one or two factors, with 95%
intervals, compared with the level that was fished most (or --versus LEVEL).

Outcomes: ` + strings.Join(OutcomeKeys(), ", ") + `.
Factors: ` + strings.Join(FactorKeys(), ", ") + `.
A factor with a unit may be divided into bands: --by tag-length:25mm. flow-percentile is in
how many percent of earlier years the flow was lower on that day of the year; it is divided
at 10%, 25%, 75% and 90%.

Levels are compared like for like: what who fished (angler) and where (water) make is taken
out, and so is each session's own luck, which all of its rigs share. What --given names is
taken out in their place; --given none takes out neither. Words are categories; a number is
a curve (tag-length) or a straight line (tag-length:linear). How the levels stood as fished
is shown beside it, and no verdict rests on that. --model marginal fits without the luck of
sessions, as a Poisson regression with a sandwich variance.

text is for people, in their units. json and csv are for programs: nothing is rounded,
and levels are as stored (mm, m³/s, °C).`,
			Example: `  rigtally rates tangles --by junction
  rigtally rates tangles --by tag-length:25mm --where junction=blood
  rigtally rates foul-hook --by facing,bulk --where "angler=J. Felt" --where season=2026
  rigtally rates tangles --by junction --given tag-length,bulk,angler,water
  rigtally rates tangles --by junction --given none
  rigtally rates loss --by hook-size --versus 16 --format json`,
			Params: []Param{
				outcome,
				{Key: "by", Says: "one or two `factors` to compare by", Kind: List, Words: FactorKeys},
				where("`factor=value` that must hold; a range is 150mm..180mm; may be repeated"),
				given("`factors` whose differences are taken out of the comparison, in place of angler and water; none for nothing"),
				model(),
				{Key: "versus", Says: "`level` to compare the others with (default: the one fished most)"},
			},
		},
		Request: func(_ context.Context, in Asking, q Query) (analytics.Request, error) {
			return analytics.Request{Outcome: q.Get("outcome"), By: q.All("by"), Where: q.All("where"), Given: q.Chosen("given"), Model: q.Get("model"), Versus: q.Get("versus"), Prior: in.Prior, Units: in.Units}, nil
		},
		Answer: func(ctx context.Context, from Source, r analytics.Request) (analytics.RateAnswer, error) {
			a, err := analytics.Rates(ctx, from, r)
			if err == nil {
				err = a.FindChanged(ctx, from, r)
			}
			return a, err
		},
		File:    func(a analytics.RateAnswer) string { return prose.Question(a.Outcome, a.By) },
		Say:     prose.SayRates,
		Numbers: prose.RatesTable,
	}
}

// Curve asks how something goes over a number.
func Curve() Inquiry[analytics.CurveRequest, analytics.CurveAnswer] {
	return Inquiry[analytics.CurveRequest, analytics.CurveAnswer]{
		Description: Description{
			Key:   "curve",
			Title: "Say how something changes with tag length, tippet, flow or temperature",
			Use:   "curve OUTCOME",
			Help: `Say how often something happens as a number changes, as a smooth curve with its 95% band:
whether the number matters at all, whether a straight line would do, and how likely each
value is the best: the lowest rate, or the highest for hookups and landed. A best is named
only within the range that holds 90% of the fishing.

Outcomes: ` + strings.Join(OutcomeKeys(), ", ") + `.
Over: ` + strings.Join(NumberKeys(), ", ") + `.

The curve is drawn like for like: at the average of who fished (angler) and where (water),
and of each session's own luck; --given names others in their place, or none. It bends at two
places, with about a third of the fishing below the first and a third above the second, and
is straight beyond its boundary; --knots and --boundary set these yourself (a bare number is
in the unit stored: mm, m³/s, °C).

text is for people, in their units. json and csv are for programs: nothing is rounded,
and values are as stored.`,
			Example: `  rigtally curve tangles
  rigtally curve tangles --given junction,bulk,angler,water --where season=2026
  rigtally curve hookups --over temperature --given water
  rigtally curve tangles --knots 120mm,160mm --boundary 80mm,240mm --format json`,
			Params: []Param{
				outcome,
				{Key: "over", Says: "`number` that changes", Default: []string{"tag-length"}, Words: NumberKeys},
				where("`factor=value` that must hold; a range is 150mm..180mm; may be repeated"),
				given("`factors` whose differences are taken out, in place of angler and water; none for nothing"),
				model(),
				{Key: "knots", Says: "`values` at which the curve bends (default: where 35% and 65% of the fishing lie)", Kind: List},
				{Key: "boundary", Says: "two `values` beyond which it is straight (default: where 5% and 95% of the fishing lie)", Kind: List},
			},
		},
		Request: func(_ context.Context, in Asking, q Query) (analytics.CurveRequest, error) {
			return analytics.CurveRequest{Outcome: q.Get("outcome"), Over: q.Get("over"), Where: q.All("where"), Given: q.Chosen("given"), Model: q.Get("model"), Knots: q.All("knots"), Boundary: q.All("boundary"), Prior: in.Prior, Units: in.Units}, nil
		},
		Answer: func(ctx context.Context, from Source, r analytics.CurveRequest) (analytics.CurveAnswer, error) {
			a, err := analytics.Curve(ctx, from, r)
			if err == nil {
				err = a.FindChanged(ctx, from, r)
			}
			return a, err
		},
		File: func(a analytics.CurveAnswer) string { return a.Outcome.Title + " over " + a.Over.Title },
		Say:  prose.SayCurve,
		Numbers: func(a analytics.CurveAnswer, sys units.System) table.Table {
			return prose.CurveTable(a, sys, max(1, len(a.Points)))
		},
	}
}

// Parts that several questions have.
var outcome = Param{Key: "outcome", Says: "what happens", Kind: Argument, Words: OutcomeKeys}

func where(says string) Param { return Param{Key: "where", Says: says, Kind: Many} }

func given(says string) Param {
	return Param{Key: "given", Says: says, Kind: List, Default: []string{"angler", "water"}, Nothing: analytics.NoGiven,
		Words: func() []string { return append(FactorKeys(), analytics.NoGiven) }}
}

func model() Param {
	return Param{Key: "model", Says: "`model`: frailty, in which each session has good or bad luck of its own, or marginal", Default: []string{string(analytics.Frailty)},
		Words: func() []string { return []string{string(analytics.Frailty), string(analytics.Marginal)} }}
}

// OutcomeKeys name what may happen.
func OutcomeKeys() []string {
	return keys(journal.Outcomes(), func(o journal.Outcome) string { return o.Key })
}

// FactorKeys name what it may be divided by.
func FactorKeys() []string {
	return keys(journal.Factors(), func(f journal.Factor) string { return f.Key })
}

// NumberKeys name the factors that a curve can go over.
func NumberKeys() []string {
	numbers := slices.DeleteFunc(journal.Factors(), func(f journal.Factor) bool { return f.Quantity == journal.Words })
	return keys(numbers, func(f journal.Factor) string { return f.Key })
}

func keys[T any](things []T, key func(T) string) []string {
	list := make([]string, len(things))
	for i, t := range things {
		list[i] = key(t)
	}
	return list
}
