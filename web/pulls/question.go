package pulls

import (
	"context"
	"slices"
	"strings"

	"rigtally/inquiry"

	"rigtally/analytics/bench"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// first makes an address without a question ask the first one that the pulls can answer.
func first(q inquiry.Query, pulls []journal.BenchPull) inquiry.Query {
	if len(q.All("by")) > 0 {
		return q
	}
	return q.With("by", inquiry.FirstOfBench(pulls)...)
}

// bench is a question of the bench: keys with their texts.
func asked(said map[string][]string) inquiry.Query {
	q, _ := inquiry.Read(inquiry.Bench().Params, said)
	return q
}

// narrowed keeps to one group of an answer, and asks by what it may differ in.
func narrowed(q inquiry.Query, by []journal.Factor, g bench.Group) inquiry.Query {
	where := slices.Clone(q.All("where"))
	for i, l := range g.Level {
		text := by[i].Key + "=" + l.Word
		if l.Kind == journal.NumberLevel {
			text = by[i].Key + "=" + units.ExactTippet(l.Number)
		}
		if !slices.Contains(where, text) {
			where = append(where, text)
		}
	}
	q = q.With("where", where...).With("versus")
	for _, next := range []string{"facing", "tippet", "angler", "junction"} {
		if !q.Holds(next) {
			return q.With("by", next)
		}
	}
	return q
}

// benchForm is the form of a question, with what there is to choose.
type benchForm struct {
	By, And []form.Option
	Where   []form.Option // filters in force
	Add     []form.OptionGroup
	Slips   []form.Option
	Next    []page.Link
}

func (s *pages) benchForm(ctx context.Context, q inquiry.Query, pulls []journal.BenchPull, sys units.System) (benchForm, error) {
	f := benchForm{Slips: form.Select(form.Pairs("", "not yet broken", bench.SlipsFail, "failed"), q.Get("slips"))}
	by := append(q.All("by"), "")
	f.By, f.And = form.Select(form.Offer("", bench.Factors(), form.Factor), by[0]), form.Select(form.Offer("", bench.Factors(), form.Factor), by[1])
	f.Where = form.Offer("", q.All("where"), func(w string) form.Option { return form.Option{Value: w, Text: whereWords(w)} })
	levels, err := bench.Levels(ctx, s.Store)
	if err != nil {
		return f, err
	}
	for _, factor := range bench.Factors() {
		group := form.OptionGroup{Title: factor.Title}
		for _, l := range levels[factor.Key] {
			o := form.Option{Value: factor.Key + "=" + l.Word, Text: l.Word}
			if l.Kind == journal.NumberLevel {
				o = form.Option{Value: factor.Key + "=" + units.ExactTippet(l.Number), Text: units.FormatTippet(l.Number)}
			}
			if !slices.Contains(q.All("where"), o.Value) {
				group.Options = append(group.Options, o)
			}
		}
		if len(group.Options) > 1 || len(group.Options) == 1 && len(f.Where) > 0 {
			f.Add = append(f.Add, group)
		}
	}
	f.Next = benchNext(q, pulls)
	return f, nil
}

// whereWords says a filter: "junction=figure-eight" is "junction figure-eight".
func whereWords(where string) string {
	key, value, _ := strings.Cut(where, "=")
	if key == "wet" {
		return value
	}
	return strings.ReplaceAll(key, "-", " ") + " " + value
}

// benchNext are questions that suggest themselves.
func benchNext(q inquiry.Query, pulls []journal.BenchPull) []page.Link {
	both := map[string]map[journal.Facing]int{}
	for _, p := range pulls {
		if p.Facing != "" {
			if both[p.Knot()] == nil {
				both[p.Knot()] = map[journal.Facing]int{}
			}
			both[p.Knot()][p.Facing]++
		}
	}
	var list []page.Link
	for _, j := range journal.Junctions() {
		if len(both[string(j)]) > 1 {
			list = append(list, page.Link{Href: asked(map[string][]string{"by": {"facing"}, "where": {"junction=" + string(j)}}).URL("/bench"), Text: prose.Capital(string(j)) + ", by facing"})
		}
	}
	for _, by := range []struct{ key, text string }{{"junction", "Junctions"}, {"tippet", "Tippets"}, {"angler", "Who tied"}, {"label", "Labels"}} {
		if !slices.Equal(q.All("by"), []string{by.key}) {
			list = append(list, page.Link{Href: asked(map[string][]string{"by": {by.key}}).URL("/bench"), Text: by.text})
		}
	}
	return list
}
