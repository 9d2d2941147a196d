package pulls

import (
	"context"
	"net/url"
	"slices"
	"strings"

	"rigtally/analytics/bench"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
	"rigtally/web/questions"
)

// benchQuestion is a question of the bench as an address holds it: by=facing (at
// most twice), where=junction=blood (any number of times), versus=down,
// slips=failure. Its texts are as typed and may be wrong.
type benchQuestion struct {
	By, Where []string
	Versus    string
	Slips     string
}

func readBenchQuestion(v url.Values) (q benchQuestion, tidy bool) {
	plain, tidy := questions.Read(v)
	q = benchQuestion{By: plain.By, Where: plain.Where, Versus: plain.Versus, Slips: questions.PlainText(v.Get("slips"))}
	return q, tidy && (q.Slips != "" || !v.Has("slips"))
}

func (q benchQuestion) url(path string) string {
	address := questions.Question{By: q.By, Where: q.Where, Versus: q.Versus}.URL(path)
	switch {
	case q.Slips == "" || q.Slips == bench.SlipsCensored:
		return address
	case strings.Contains(address, "?"):
		return address + "&slips=" + questions.Escape(q.Slips)
	}
	return address + "?slips=" + questions.Escape(q.Slips)
}

func (q benchQuestion) request(sys units.System) bench.Request {
	return bench.Request{By: q.By, Where: q.Where, Versus: q.Versus, Slips: q.Slips, Units: sys}
}

func (q benchQuestion) without(where string) benchQuestion {
	q.Where = slices.DeleteFunc(slices.Clone(q.Where), func(w string) bool { return w == where })
	return q
}

// orFirst makes an address without a question ask the first one: by junction,
// and by facing too where one knot was pulled both ways.
func (q benchQuestion) orFirst(pulls []journal.BenchPull) benchQuestion {
	if len(q.By) > 0 {
		return q
	}
	q.By = []string{"junction"}
	facings := map[string]journal.Facing{}
	for _, p := range pulls {
		if p.Facing == "" {
			continue
		}
		if other, known := facings[p.Knot()]; known && other != p.Facing {
			q.By = []string{"junction", "facing"}
			return q
		}
		facings[p.Knot()] = p.Facing
	}
	return q
}

// narrowed keeps to one group of an answer, and asks by what it may differ in.
func (q benchQuestion) narrowed(by []journal.Factor, g bench.Group) benchQuestion {
	q.Where = slices.Clone(q.Where)
	for i, l := range g.Level {
		text := by[i].Key + "=" + l.Word
		if l.Kind == journal.NumberLevel {
			text = by[i].Key + "=" + units.ExactTippet(l.Number)
		}
		if !slices.Contains(q.Where, text) {
			q.Where = append(q.Where, text)
		}
	}
	q.Versus = ""
	for _, next := range []string{"facing", "tippet", "angler", "junction"} {
		held := slices.ContainsFunc(q.Where, func(w string) bool { return strings.HasPrefix(w, next+"=") })
		if !held {
			q.By = []string{next}
			break
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

func (s *pages) benchForm(ctx context.Context, q benchQuestion, pulls []journal.BenchPull, sys units.System) (benchForm, error) {
	f := benchForm{Slips: form.Select([]form.Option{{Value: "", Text: "not yet broken"}, {Value: bench.SlipsFail, Text: "failed"}}, q.Slips)}
	second := ""
	if len(q.By) > 1 {
		second = q.By[1]
	}
	for _, factor := range bench.Factors() {
		o := form.Option{Value: factor.Key, Text: factor.Title}
		f.By, f.And = append(f.By, o), append(f.And, o)
	}
	f.By, f.And = form.Select(f.By, q.By[0]), form.Select(f.And, second)
	for _, w := range q.Where {
		f.Where = append(f.Where, form.Option{Value: w, Text: whereWords(w)})
	}
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
			if !slices.Contains(q.Where, o.Value) {
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
func benchNext(q benchQuestion, pulls []journal.BenchPull) []page.Link {
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
			list = append(list, page.Link{Href: benchQuestion{By: []string{"facing"}, Where: []string{"junction=" + string(j)}}.url("/bench"), Text: prose.Capital(string(j)) + ", by facing"})
		}
	}
	for _, by := range []struct{ key, text string }{{"junction", "Junctions"}, {"tippet", "Tippets"}, {"angler", "Who tied"}, {"label", "Labels"}} {
		if len(q.By) != 1 || q.By[0] != by.key {
			list = append(list, page.Link{Href: benchQuestion{By: []string{by.key}}.url("/bench"), Text: by.text})
		}
	}
	return list
}
