package inquiry

import (
	"context"
	"slices"
	"strings"

	"rigtally/analytics/life"
	"rigtally/analytics/plan"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/prose"
)

// Plan asks how long to tie a tag.
func Plan() Inquiry[plan.Request, plan.Answer] {
	params := []Param{
		{Key: "anew", Flag: "break-anew", Says: "a break gives a fresh tag of full length, instead of being mended as it was", Kind: Yes, Words: func() []string { return []string{"yes"} }},
		{Key: "breaks", Says: "breaks per hour of your own: a `rate`, or rates at lengths; \"constant\" or \"curve\" for the journal's"},
	}
	for _, key := range plan.Keys() {
		params = append(params, Param{Key: key, Says: planSays(key)})
	}
	params = append(params,
		given("`factors` whose differences are taken out of the curves", "angler", "water"),
		Param{Key: "longest", Says: "the longest `length` to look at (default: the longest fished)"},
		Param{Key: "tangles", Says: "tangles per hour of your own at `lengths`, such as \"120mm=0.3, 180mm=0.8\""},
		where("`factor=value` that must hold; may be repeated"))
	return Inquiry[plan.Request, plan.Answer]{
		Description: Description{
			Key:   "plan",
			Title: "Say how long to tie a tag so that the fewest minutes are lost",
			Use:   "plan",
			Help: `Say at which length to tie a tag so that the fewest fishing minutes are lost to
tangles, breaks and re-ties, how sure that is, and what would change the answer.

A tag starts at a length; each fly change takes a bit off it; when the next change would
leave too little it is tied anew. A long tag is tied anew less often but tangles more.
How often tags tangle and break at each length comes from the journal's own curves,
corrected for what is given, or from --tangles and --breaks. Other numbers come from
the journal where it has at least ten notes of them, else from common practice (no
source); each can be set by its flag.

text is for people, in their units. json and csv are for programs: nothing is rounded,
and values are as stored (mm, minutes per hour).`,
			Example: `  rigtally plan
  rigtally plan --where angler="J. Felt" --changes 2 --waste "1/2 in"
  rigtally plan --given junction,bulk,angler --longest 250mm
  rigtally plan --tangles "120mm=0.3, 180mm=0.8" --breaks 0.05 --format json`,
			Params: params,
		},
		Request: func(_ context.Context, in Asking, q Query) (plan.Request, error) {
			r := plan.Request{Where: q.All("where"), Given: q.All("given"), Tangles: q.Get("tangles"), Breaks: q.Get("breaks"), Longest: q.Get("longest"), Anew: q.Get("anew") != "", Units: in.Units, Inputs: map[string]string{}}
			for _, key := range plan.Keys() {
				if text := q.Get(key); text != "" {
					r.Inputs[key] = text
				}
			}
			return r, nil
		},
		Answer: func(ctx context.Context, from Source, r plan.Request) (plan.Answer, error) {
			return plan.Weigh(ctx, from, r)
		},
		File: func(plan.Answer) string { return "tag planner" },
		Say:  prose.SayPlan,
		Numbers: func(a plan.Answer, sys units.System) table.Table {
			return prose.PlanTable(a, sys, max(1, len(a.Points)))
		},
	}
}

// planSays says what a number of a plan is.
func planSays(key string) string {
	what := "`length`"
	switch key {
	case plan.Changes:
		what = "`number`"
	case plan.TangleMinutes, plan.RetieMinutes, plan.BreakMinutes:
		what = "`minutes`"
	}
	return strings.ToLower(prose.PlanInputTitle(key)) + ": a " + what
}

// LifeFactorKeys name what lives may be divided by.
func LifeFactorKeys() []string {
	return slices.DeleteFunc(FactorKeys(), func(key string) bool { return key == "tag-length" || key == "hang" })
}

// Life asks how long tags and their junctions last.
func Life() Inquiry[life.Request, life.Answer] {
	return Inquiry[life.Request, life.Answer]{
		Description: Description{
			Key:   "life",
			Title: "Say how long tags and their junctions last",
			Use:   "life",
			Help: `Say how long tags last from tying to the break of their junction or of the tag itself,
in hours fished or in loads (hookups and snags that pulled on the junction).

Most are never seen to break: they are re-tied, taken off or the day ends. Those count as
lasting at least until then (Kaplan–Meier, with log-log bands), and groups are held
against each other by the log-rank test, with tags of one session taken together.

A tag lives from the first stint of its rig, or a re-tie or break, through all stints with the
same rig in a row. Where the moments of re-ties and breaks were not all noted, they are
spread evenly over their stint.`,
			Example: `  rigtally life
  rigtally life --by facing --in loads
  rigtally life --by tippet --where junction=blood --format csv`,
			Params: []Param{
				{Key: "by", Says: "`factor` to divide by", Default: []string{"junction"}, Words: LifeFactorKeys},
				{Key: "in", Says: "`scale` of a life: hours or loads", Default: []string{life.Hours}, Words: func() []string { return []string{life.Hours, life.Loads} }},
				where("`factor=value` that must hold when the tag is tied; may be repeated"),
			},
		},
		Request: func(_ context.Context, in Asking, q Query) (life.Request, error) {
			return life.Request{By: q.Get("by"), In: q.Get("in"), Where: q.All("where"), Units: in.Units}, nil
		},
		Answer: func(ctx context.Context, from Source, r life.Request) (life.Answer, error) {
			return life.Follow(ctx, from, r)
		},
		File:    func(a life.Answer) string { return "knot life by " + a.By.Factor.Title },
		Say:     prose.SayLife,
		Numbers: func(a life.Answer, _ units.System) table.Table { return prose.LifeSteps(a) },
	}
}
