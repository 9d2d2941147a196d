// Package questions serves the pages that answer questions of the journal: findings, curves, tag
// length, the planner and the life of knots.
package questions

import (
	"context"
	"net/http"
	"rigtally/inquiry"
	"slices"
	"strings"

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

// The questions that take a while, each worked out once for all who ask it.

func (s *pages) ratesOf(ctx context.Context, r analytics.Request) (analytics.RateAnswer, error) {
	return page.Ask(ctx, s.Desk, r, func(ctx context.Context) (analytics.RateAnswer, error) { return analytics.Rates(ctx, s.Store, r) })
}

// findingsPage asks one question and answers it.
type findingsPage struct {
	page.Frame
	Form     questionForm
	Problems []string // why the question has no answer
	Empty    bool     // nothing has been logged yet
	Filters  []Taken  // filters in force, each with the page without it
	Answer   *answerPart
	Correct  string      // the same question, corrected for the usual suspects; empty when corrected already
	Bars     string      // the same question drawn the other way: as bars,
	Heat     string      // or as a heat map; at most one is not empty
	Next     []page.Link // the same question by other factors
}

// Taken is a filter in force, with the address of the question without it.
type Taken struct{ Text, Without string }

// answerPart is an answer as the pages show it: sentence, chart, table, and
// what must be known about them.
type answerPart struct {
	Outcome  journal.Outcome
	Share    bool   // the outcome is a share of trials
	Amount   bool   // the outcome is an amount, not a count
	Given    string // what the comparisons are corrected for; empty when they are plain
	Sentence string
	Best     string // which group did best so far; may be empty
	Measure  string // what the rates are
	Figure   *page.Figure
	Table    table.Page
	InAll    string
	LeftOut  []string
	Notes    []string
	JSON     string // addresses of the same numbers
	CSV      string
}

func (s *pages) findings(w http.ResponseWriter, r *http.Request) error {
	q, tidy := Read(r.URL.Query())
	if !tidy {
		return page.See(w, r, q.URL("/findings"))
	}
	q = q.orFirst()
	f, err := s.Frame(r, "findings", "Findings")
	if err != nil {
		return err
	}
	p := findingsPage{Frame: f}
	if p.Form, err = s.questionForm(r.Context(), q, f.Units); err != nil {
		return err
	}
	p.Filters = TakenFilters(p.Form.Where, func(where string) string { return q.without(where).URL("/findings") })
	a, err := s.ratesOf(r.Context(), q.request(f.Units))
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	switch {
	case p.Problems != nil:
	case nothingLogged(a):
		p.Empty = true
	default:
		p.Title = prose.Question(a.Outcome, a.By)
		p.Next = q.otherFactors(f.Units)
		p.Correct = q.corrected()
		narrow := func(g analytics.Group) string { return q.narrowed(a.By, g, f.Units).URL("/findings") }
		p.Answer = newAnswer(a, f.Units, narrow)
		numbers := q
		numbers.As = ""
		p.Answer.JSON, p.Answer.CSV = numbers.URL("/findings.json"), numbers.URL("/findings.csv")
		if len(a.Groups) > 0 && len(a.By) > 0 {
			p.Answer.Figure = s.answerFigure(f, drawRates(a, q.As, f.Units, narrow), p.Answer, a)
			p.Bars, p.Heat = q.otherForm(a)
		}
	}
	return s.Render(w, page.Status(p.Problems), "findings", p)
}

// orFirst makes an address without a question ask the first one.
func (q Question) orFirst() Question {
	if q.Outcome == "" {
		q.Outcome = "tangles"
	}
	if len(q.By) == 0 {
		q.By = []string{"junction"}
	}
	return q
}

// corrected is the same question with who fished and where taken account of, or
// nothing when something is already.
func (q Question) corrected() string {
	if len(q.Given) > 0 {
		return ""
	}
	q.Given = []string{"angler", "water"}
	for _, by := range q.By {
		q = q.notGiven(factorOf(by))
	}
	for _, w := range q.Where {
		key, _, _ := strings.Cut(w, "=")
		q = q.notGiven(key)
	}
	if len(q.Given) == 0 {
		return ""
	}
	return q.URL("/findings")
}

// otherForm gives the address of two factors drawn the other way.
func (q Question) otherForm(a analytics.RateAnswer) (bars, heat string) {
	if len(a.By) < 2 {
		return "", ""
	}
	if q.As == asBars {
		q.As = ""
		return "", q.URL("/findings")
	}
	q.As = asBars
	return q.URL("/findings"), ""
}

// drawRates draws two factors as a heat map, one as rates, or as ratios when the
// comparisons are corrected.
func drawRates(a analytics.RateAnswer, as string, sys units.System, narrow charts.Link) charts.Chart {
	if len(a.By) == 2 && as != asBars {
		return charts.Heat(a, sys, narrow)
	}
	if len(a.Given) > 0 && a.Reference >= 0 && len(a.Groups) > 1 {
		return charts.Ratios(a, sys, narrow)
	}
	return charts.Rates(a, sys, narrow)
}

// nothingLogged reports whether the journal holds nothing at all on a question
// that no filter narrows.
func nothingLogged(a analytics.RateAnswer) bool {
	return len(a.Groups) == 0 && len(a.Where) == 0 && len(a.LeftOut) == 0
}

func TakenFilters(where []form.Option, without func(string) string) []Taken {
	var list []Taken
	for _, o := range where {
		list = append(list, Taken{o.Text, without(o.Value)})
	}
	return list
}

// otherFactors asks the same question by each factor that is not held fixed.
func (q Question) otherFactors(sys units.System) []page.Link {
	var list []page.Link
	for _, f := range journal.Factors() {
		by := slices.ContainsFunc(q.By, func(by string) bool { return factorOf(by) == f.Key })
		held := slices.ContainsFunc(q.Where, func(w string) bool { return strings.HasPrefix(w, f.Key+"=") })
		if !by && !held {
			other := q
			other.By, other.Versus, other.As = []string{AskedBy(f.Key, sys)}, "", ""
			other = other.notGiven(f.Key)
			list = append(list, page.Link{Href: other.URL("/findings"), Text: f.Title})
		}
	}
	return list
}

// ask answers the question of an address.
func (s *pages) askFindings(r *http.Request, sys units.System) (analytics.RateAnswer, error) {
	q, _ := Read(r.URL.Query())
	return s.ratesOf(r.Context(), q.orFirst().request(sys))
}

func findingsFile(a analytics.RateAnswer) string {
	return page.FileName(prose.Question(a.Outcome, a.By))
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return []page.Route{
		{Pattern: "GET /findings", Act: s.findings, Kept: true},
		{Pattern: "GET /findings.json", Act: page.AsJSON(s.Desk, s.askFindings), Kept: true},
		{Pattern: "GET /findings.csv", Act: page.AsCSV(s.Desk, s.askFindings, findingsFile, prose.RatesTable), Kept: true},
		{Pattern: "GET /tag-length", Act: s.tagLength, Kept: true},
		{Pattern: "GET /curve", Act: s.curve, Kept: true},
		{Pattern: "GET /curve.json", Act: page.AsJSON(s.Desk, s.askCurve), Kept: true},
		{Pattern: "GET /curve.csv", Act: page.AsCSV(s.Desk, s.askCurve, curveFile, inquiry.Curve().Numbers), Kept: true},
		{Pattern: "GET /planner", Act: s.planner, Kept: true},
		{Pattern: "GET /planner.json", Act: page.AsJSON(s.Desk, s.askPlan), Kept: true},
		{Pattern: "GET /planner.csv", Act: page.AsCSV(s.Desk, s.askPlan, plannerFile, inquiry.Plan().Numbers), Kept: true},
		{Pattern: "GET /life", Act: s.life, Kept: true},
		{Pattern: "GET /life.json", Act: page.AsJSON(s.Desk, s.askLife), Kept: true},
		{Pattern: "GET /life.csv", Act: page.AsCSV(s.Desk, s.askLife, lifeFile, inquiry.Life().Numbers), Kept: true},
	}
}
