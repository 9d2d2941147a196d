package questions

import (
	"context"
	"net/http"
	"net/url"
	"strings"

	"rigtally/analytics/life"

	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

func (s *pages) lifeOf(ctx context.Context, r life.Request) (life.Answer, error) {
	return page.Ask(ctx, s.Desk, r, func(ctx context.Context) (life.Answer, error) { return life.Follow(ctx, s.Store, r) })
}

// lifePage shows how long tags and their junctions last.
type lifePage struct {
	page.Frame
	By, In   []form.Option
	Where    []form.Option
	Filters  []Taken
	Problems []string
	Life     *lifePart
}

// lifePart is an answer as the page shows it.
type lifePart struct {
	Sentence, Test string
	Figure         *page.Figure
	Head, RiskHead []string
	Rows, Risk     [][]string
	LeftOut, Notes []string
	JSON, CSV      string
}

// lifeQuery is a question as an address holds it: by=junction, in=loads and where= any number of times.
type lifeQuery struct {
	by, in string
	where  []string
}

// readLife reads an address. tidy is false when it holds what says nothing.
func readLife(v url.Values) (q lifeQuery, tidy bool) {
	asked, _ := Read(url.Values{"where": v["where"]})
	q = lifeQuery{by: PlainText(v.Get("by")), in: PlainText(v.Get("in")), where: asked.Where}
	if q.by == "junction" {
		q.by = ""
	}
	if q.in == life.Hours {
		q.in = ""
	}
	return q, sameAddress(q.values(), v)
}

func (q lifeQuery) values() url.Values {
	v := url.Values{}
	if q.by != "" {
		v.Set("by", q.by)
	}
	if q.in != "" {
		v.Set("in", q.in)
	}
	for _, w := range q.where {
		v.Add("where", w)
	}
	return v
}

func (q lifeQuery) url(path string) string { return address(path, q.values()) }

func (q lifeQuery) request(sys units.System) life.Request {
	return life.Request{By: q.by, In: q.in, Where: q.where, Units: sys}
}

// life answers an address such as /life?by=facing&in=loads&where=junction=blood.
func (s *pages) life(w http.ResponseWriter, r *http.Request) error {
	q, tidy := readLife(r.URL.Query())
	if !tidy {
		return page.See(w, r, q.url("/life"))
	}
	f, err := s.Frame(r, "life", "Knot life")
	if err != nil {
		return err
	}
	p := lifePage{Frame: f, By: lifeFactors(q.by), In: form.Select([]form.Option{{Value: life.Hours, Text: "hours fished"}, {Value: life.Loads, Text: "loads, each hookup or snag"}}, q.in)}
	asked := Question{Where: q.where}
	p.Where = filterOptions(asked, f.Units)
	p.Filters = TakenFilters(p.Where, func(where string) string {
		rest := q
		rest.where = asked.without(where).Where
		return rest.url("/life")
	})
	a, err := s.lifeOf(r.Context(), q.request(f.Units))
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	if p.Problems == nil {
		p.Title = "How long tags last, by " + strings.ToLower(a.By.Factor.Title)
		p.Life = s.newLifePart(f, a, q)
	}
	return s.Render(w, page.Status(p.Problems), "life", p)
}

func (s *pages) newLifePart(f page.Frame, a life.Answer, q lifeQuery) *lifePart {
	p := &lifePart{Sentence: prose.LifeSentence(a, f.Units), Test: prose.LifeTest(a), Notes: prose.LifeNotes(a), LeftOut: prose.LeftOut(a.LeftOut),
		JSON: q.url("/life.json"), CSV: q.url("/life.csv")}
	if len(a.Groups) == 0 {
		return p
	}
	said := prose.SayLife(a, f.Units)
	p.Head, p.Rows = said.Tables[0].Texts()
	p.RiskHead, p.Risk = said.Tables[1].Texts()
	c := charts.Life(a, f.Units)
	p.Figure = s.NewFigure(f, "Share of tags that have not broken, with 95% bands", &c, "knot life by", a.By.Factor.Title)
	p.Figure.Says, p.Figure.CSV = p.Sentence, p.CSV
	p.Figure.Spoken = "Chart of the share of tags still whole over time; the tables below have the same numbers. " + p.Sentence
	p.Figure.How = "Each step down is a break. Lines end where fewer than five tags were still followed, and the share need not begin at 0. Point at the chart for its numbers."
	if c.Drawn < len(a.Groups) {
		p.Figure.How += " It has the four fished most; the tables have all."
	}
	return p
}

// lifeFactors lists what lives may be divided by.
func lifeFactors(chosen string) []form.Option {
	if chosen == "" {
		chosen = "junction"
	}
	var list []form.Option
	for _, f := range journal.Factors() {
		if f.Key != "tag-length" && f.Key != "hang" {
			list = append(list, form.Option{Value: f.Key, Text: f.Title})
		}
	}
	return form.Select(list, chosen)
}

func (s *pages) askLife(r *http.Request, sys units.System) (life.Answer, error) {
	q, _ := readLife(r.URL.Query())
	return s.lifeOf(r.Context(), q.request(sys))
}

func lifeFile(a life.Answer) string { return page.FileName("knot life by", a.By.Factor.Title) }
