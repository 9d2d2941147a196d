// Package pulls serves the pages of the bench.
package pulls

import (
	"fmt"
	"net/http"
	"slices"

	"rigtally/inquiry"

	"rigtally/analytics/bench"

	"rigtally/charts"
	"rigtally/internal/table"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
	"rigtally/web/questions"
)

// pages are the pages of the bench.
type pages struct{ *page.Desk }

// benchPage compares pulls, as the command does.
type benchPage struct {
	page.Frame
	Empty    bool // nothing was ever pulled
	Problems []string
	Filters  []questions.Taken
	Form     benchForm
	Answer   *benchPart
	Pulls    string // how many there are in all
	NoTable  string
	Safety   string
}

// benchPart is an answer of the bench as the page shows it.
type benchPart struct {
	prose.Said
	Card       *page.Card // nil where nothing can be compared
	Dots       *page.Figure
	Lines      *page.Figure // nil when no group has a line
	Table      table.Page
	Alike      string
	JSON, CSV  string
	SlipsFail  bool
	OtherSlips string // the same with slips taken the other way; "" without any
}

// bench answers an address such as /bench?by=facing&where=junction=figure-eight.
func (s *pages) bench(w http.ResponseWriter, r *http.Request, f page.Frame, q inquiry.Query) error {
	pulls, err := s.Store.BenchPulls(r.Context())
	if err != nil {
		return err
	}
	p := benchPage{Frame: f, Empty: len(pulls) == 0, Pulls: prose.Plural(len(pulls), "pull", "pulls"), NoTable: prose.NoKnotTable, Safety: prose.PullSafely}
	if p.Empty {
		return s.Render(w, http.StatusOK, "bench", p)
	}
	q = first(q, pulls)
	if p.Form, err = s.benchForm(r.Context(), q, pulls, f.Units); err != nil {
		return err
	}
	p.Filters = questions.TakenFilters(p.Form.Where, q, "/bench")
	a, err := inquiry.Bench().Ask(r.Context(), s.Asking(f.Outfit), q)
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	if p.Problems == nil {
		p.Answer = s.benchAnswer(f, q, a)
		p.Title = p.Answer.Title
	}
	return s.Render(w, page.Status(p.Problems), "bench", p)
}

func (s *pages) benchAnswer(f page.Frame, q inquiry.Query, a bench.Answer) *benchPart {
	card, ok := prose.BenchCard(a, f.Units)
	p := &benchPart{Said: prose.SayBench(a, f.Units), Card: page.NewCard(f, card, ok), Alike: prose.BenchAlike(a), SlipsFail: a.SlipsFail, JSON: q.URL("/bench.json"), CSV: q.URL("/bench.csv")}
	if len(a.Groups) == 0 {
		return p
	}
	p.Table = prose.BenchTable(a, f.Units).Stack()
	other := q.With("slips", bench.SlipsFail)
	if a.SlipsFail {
		other = q.With("slips")
	}
	for _, g := range a.Groups {
		if g.Slipped > 0 {
			p.OtherSlips = other.URL("/bench")
		}
	}
	scale := "Force at which each pull ended, with the means and their 95% intervals"
	if a.Relative {
		scale = "Strength of each pull as a share of unknotted line, with the means and their 95% intervals"
	}
	dots := charts.Dots(a, f.Units, func(g bench.Group) string { return narrowed(q, a.By, g).URL("/bench") })
	p.Dots = s.NewFigure(f, scale, &dots, p.Title)
	p.Dots.Says, p.Dots.CSV = p.Sentence, p.CSV
	p.Dots.Spoken = "Dot plot of every pull, a row for each group, with means; the table below has the same numbers. " + p.Sentence
	p.Dots.How = "Each dot is a pull."
	if n := charts.Fitted(a); n > 0 {
		lines := charts.WeibullLines(a, f.Units)
		p.Lines = s.NewFigure(f, "Share of pulls that fail up to a strength: Weibull lines over the pulls", &lines, p.Title, "weibull")
		p.Lines.Says, p.Lines.CSV = p.Sentence, p.CSV
		p.Lines.Spoken = "Weibull lines of each group over its pulls; the table below has the 10% strengths with their intervals."
		p.Lines.How = "The bar across at one in ten is the 95% interval of the strength that one pull in ten does not reach."
		if lines.Drawn < n {
			p.Lines.How += fmt.Sprintf(" Drawn are the %d groups with most pulls.", lines.Drawn)
		}
	}
	return p
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	change := func(journal.BenchPull) string { return "Change a pull" }
	asked := func(q inquiry.Query) inquiry.Query { return q }
	return slices.Concat([]page.Route{
		{Pattern: "GET /bench", Act: questions.Asking(d, "bench", "Knots on the bench", "/bench", inquiry.Bench().Params, s.bench), Kept: true},
		{Pattern: "GET /bench/water", Act: s.Framed("bench", "Bench beside water", s.benchWater), Kept: true},
		{Pattern: "GET /bench/pulls", Act: s.Framed("bench", "Pulls", s.benchPulls)},
		{Pattern: "POST /bench/pulls", Act: s.Framed("bench", "Record pulls", s.benchPullAdd)},
		{Pattern: "GET /bench/pulls.csv", Act: s.benchPullsCSV, Kept: true},
		{Pattern: "GET /bench/pulls/new", Act: s.Framed("bench", "Record pulls", s.benchPullNew)},
		{Pattern: "GET /bench/pulls/{id}", Act: page.Showing(d, "bench", s.pullAt, change, s.benchPull)},
		{Pattern: "POST /bench/pulls/{id}", Act: page.Showing(d, "bench", s.pullAt, change, s.benchPullSave)},
		{Pattern: "POST /bench/pulls/{id}/delete", Act: page.Doing(s.Store.DeleteBenchPull, "/bench/pulls?undo={id}")},
		{Pattern: "POST /bench/pulls/{id}/restore", Act: page.Doing(s.Store.RestoreBenchPull, "/bench/pulls?done=pull-restored")},
	}, d.Numbers(inquiry.Bench(), "/bench", asked), d.Numbers(inquiry.Beside(), "/bench/water", asked))
}
