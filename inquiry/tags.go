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
		{Key: "anew", Flag: "break-anew", Says: "tie a fresh tag of full length after a break, instead of mending the old one", Kind: Yes, Words: func() []string { return []string{"yes"} }},
		{Key: "breaks", Says: "your own breaks per hour: a `rate`, or rates at lengths; \"constant\" or \"curve\" for the journal's"},
	}
	for _, key := range plan.Keys() {
		params = append(params, Param{Key: key, Says: planSays(key)})
	}
	params = append(params,
		given("`factors` whose differences are taken out of the curves, in place of angler and water; none for nothing"),
		Param{Key: "longest", Says: "longest `length` to look at (default: the longest fished)"},
		Param{Key: "tangles", Says: "your own tangles per hour at `lengths`, such as \"120mm=0.3, 180mm=0.8\""},
		where("`factor=value` that must hold; may be repeated"))
	return Inquiry[plan.Request, plan.Answer]{
		Description: Description{
			Key:   "plan",
			Title: "Say how long to tie a tag so that the fewest minutes are lost",
			Use:   "plan",
			Help: `Say at which length to tie a tag so that the fewest fishing minutes are lost to
tangles, breaks and re-ties, how sure that is, and what would change the answer.

Each fly change takes a bit off a tag; when the next change would leave too little, you
tie a new one. A long tag needs fewer re-ties but tangles more. How often tags tangle and
break at each length comes from the journal's own curves, like for like (--given), or from
--tangles and --breaks. Other numbers come from the journal if it has at least ten notes
of them, else from common practice (no source); set any of them with its flag.

text is for people, in their units. json and csv are for programs: nothing is rounded,
and values are as stored (mm, minutes per hour).`,
			Example: `  rigtally plan
  rigtally plan --where angler="J. Felt" --changes 2 --waste "1/2 in"
  rigtally plan --given junction,bulk,angler --longest 250mm
  rigtally plan --tangles "120mm=0.3, 180mm=0.8" --breaks 0.05 --format json`,
			Params: params,
		},
		Request: func(_ context.Context, in Asking, q Query) (plan.Request, error) {
			r := plan.Request{Where: q.All("where"), Given: q.Chosen("given"), Tangles: q.Get("tangles"), Breaks: q.Get("breaks"), Longest: q.Get("longest"), Anew: q.Get("anew") != "", Units: in.Units, Inputs: map[string]string{}}
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
	says := strings.ToLower(prose.PlanInputTitle(key))
	switch key {
	case plan.TangleMinutes, plan.RetieMinutes, plan.BreakMinutes:
		return strings.Replace(says, "minutes", "`minutes`", 1)
	case plan.Changes:
		return "`number` of " + says
	}
	return says + ", a `length`"
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

Most never break: they are re-tied or taken off, or the day ends. Those count as lasting
at least until then (Kaplan–Meier, with log-log bands). Groups are compared by the log-rank
test, with tags of one session taken together.

A tag lives from the first stint of its rig, or a re-tie or break, through all stints with the
same rig in a row. If the moments of re-ties and breaks were not all noted, they are spread
evenly over their stint.`,
			Example: `  rigtally life
  rigtally life --by facing --in loads
  rigtally life --by tippet --where junction=blood --format csv`,
			Params: []Param{
				{Key: "by", Says: "`factor` to compare by", Default: []string{"junction"}, Words: LifeFactorKeys},
				{Key: "in", Says: "`scale` of a tag's life: hours or loads", Default: []string{life.Hours}, Words: func() []string { return []string{life.Hours, life.Loads} }},
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
