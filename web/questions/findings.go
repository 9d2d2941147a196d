// Package questions serves the pages that answer questions of the journal: findings, curves, tag
// length, the planner and the life of knots.
package questions

import (
	"net/http"
	"slices"

	"rigtally/inquiry"

	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pages are the pages of questions.
type pages struct{ *page.Desk }

// findingsPage asks one question and answers it.
type findingsPage struct {
	asked
	Form   questionForm
	Empty  bool // nothing has been logged yet
	Answer *answerPart
	Other  page.Link   // the same question with nothing held alike, or like for like
	Bars   string      // the same question drawn the other way: as bars,
	Heat   string      // or as a heat map; at most one is not empty
	Next   []page.Link // the same question by other factors
}

// Taken is a filter in force, with the address of the question without it.
type Taken struct{ Text, Without string }

// answerPart is an answer as the pages show it: sentence, chart, table, and
// what must be known about them.
type answerPart struct {
	prose.Said
	Card      *page.Card // nil where there is nothing to choose
	Outcome   journal.Outcome
	Share     bool // the outcome is a share of trials
	Amount    bool // the outcome is an amount, not a count
	Model     analytics.Model
	Turned    bool   // some comparison turned round like for like
	Given     string // what the comparisons hold alike; empty when nothing
	Best      string // which group did best so far; may be empty
	Figure    *page.Figure
	Table     table.Page
	JSON, CSV string // addresses of the same numbers
}

func (s *pages) findings(w http.ResponseWriter, r *http.Request, f page.Frame, q inquiry.Query) (err error) {
	q = notAsked(first(q))
	p := findingsPage{asked: newAsked(f, q, "/findings")}
	if p.Form, err = s.questionForm(r.Context(), q, f.Units); err != nil {
		return err
	}
	a, err := inquiry.Rates().Ask(r.Context(), s.Asking(f.Outfit), q)
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	switch {
	case p.Problems != nil:
	case nothingLogged(a):
		p.Empty = true
	default:
		p.Title = prose.Question(a.Outcome, a.By)
		p.Next = otherFactors(q, f.Units)
		p.Other = otherGivens(q, a.Given, "/findings")
		narrow := func(g analytics.Group) string { return narrowed(q, a.By, g, f.Units).URL("/findings") }
		p.Answer = newAnswer(a, f, narrow)
		numbers := q.With("as")
		p.Answer.JSON, p.Answer.CSV = numbers.URL("/findings.json"), numbers.URL("/findings.csv")
		if len(a.Groups) > 0 && len(a.By) > 0 {
			p.Answer.Figure = s.answerFigure(f, drawRates(a, q.Get("as"), f.Units, narrow), p.Answer, a)
			p.Bars, p.Heat = otherForm(q, a)
		}
	}
	return s.Render(w, page.Status(p.Problems), "findings", p)
}

// otherGivens leads to the same question with nothing held alike, where something is; and where nothing
// is because that was asked for, back to like for like.
func otherGivens(q inquiry.Query, given []analytics.Given, path string) page.Link {
	switch {
	case len(given) > 0:
		return page.Link{Href: q.With("given").URL(path), Text: "See it with nothing held alike"}
	case q.IsSaid("given") && len(q.All("given")) == 0:
		return page.Link{Href: q.With("given", usualGivens(q)...).URL(path), Text: "Compare like for like: who fished, and where"}
	}
	return page.Link{}
}

// usualGivens are what is given unless it is said.
func usualGivens(q inquiry.Query) []string { return q.Unsaid("given").All("given") }

// otherForm gives the address of two factors drawn the other way.
func otherForm(q inquiry.Query, a analytics.RateAnswer) (bars, heat string) {
	switch {
	case len(a.By) < 2:
		return "", ""
	case q.Get("as") == asBars:
		return "", q.With("as").URL("/findings")
	}
	return q.With("as", asBars).URL("/findings"), ""
}

// drawRates draws two factors as a heat map, one as like-for-like ratios where there are any, or
// as rates as fished.
func drawRates(a analytics.RateAnswer, as string, sys units.System, narrow charts.Link) charts.Chart {
	if len(a.By) == 2 && as != asBars {
		return charts.Heat(a, sys, narrow)
	}
	if charts.Alike(a) {
		return charts.Ratios(a, sys, narrow)
	}
	return charts.Rates(a, sys, narrow)
}

// nothingLogged reports whether the journal holds nothing at all on a question
// that no filter narrows.
func nothingLogged(a analytics.RateAnswer) bool {
	return len(a.Groups) == 0 && len(a.Where) == 0 && len(a.LeftOut) == 0
}

// TakenFilters are the filters in force, each with the page at a path without it.
func TakenFilters(where []form.Option, q inquiry.Query, path string) []Taken {
	var list []Taken
	for _, o := range where {
		list = append(list, Taken{o.Text, q.Without("where", o.Value).URL(path)})
	}
	return list
}

// otherFactors asks the same question by each factor that is not held fixed.
func otherFactors(q inquiry.Query, sys units.System) []page.Link {
	var list []page.Link
	for _, f := range journal.Factors() {
		by := slices.ContainsFunc(q.All("by"), func(by string) bool { return inquiry.Factor(by) == f.Key })
		if !by && !q.Holds(f.Key) {
			other := q.With("by", AskedBy(f.Key, sys)).With("versus").With("as").NotGiven(f.Key)
			list = append(list, page.Link{Href: other.URL("/findings"), Text: f.Title})
		}
	}
	return list
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	whole := func(q inquiry.Query) inquiry.Query { return q }
	return slices.Concat([]page.Route{
		{Pattern: "GET /findings", Act: Asking(d, "findings", "Any question", "/findings", rateParams(), s.findings), Kept: true},
		{Pattern: "GET /tag-length", Act: s.Framed("tag-length", "Tag length", s.tagLength), Kept: true},
		{Pattern: "GET /junction", Act: s.Framed("junction", "Junction", s.junction), Kept: true},
		{Pattern: "GET /curve", Act: Asking(d, "tag-length", "Curve", "/curve", inquiry.Curve().Params, s.curve), Kept: true},
		{Pattern: "GET /planner", Act: Asking(d, "planner", "Tag planner", "/planner", inquiry.Plan().Params, s.planner), Kept: true},
		{Pattern: "GET /life", Act: Asking(d, "life", "Knot life", "/life", inquiry.Life().Params, s.life), Kept: true},
		{Pattern: "GET /next", Act: s.Framed("next", "Settle it", s.next), Kept: true},
	}, d.Numbers(inquiry.Rates(), "/findings", first), d.Numbers(inquiry.Curve(), "/curve", firstOutcome),
		d.Numbers(inquiry.Plan(), "/planner", whole), d.Numbers(inquiry.Life(), "/life", whole), d.Numbers(inquiry.Next(), "/next", whole))
}
