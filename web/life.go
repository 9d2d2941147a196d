package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"

	"rigtally/analytics/life"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// lifePage shows how long tags and their junctions last.
type lifePage struct {
	frame
	By, In   []option
	Where    []option
	Filters  []taken
	Problems []string
	Life     *lifePart
}

// lifePart is an answer as the page shows it.
type lifePart struct {
	Sentence, Test string
	Figure         *chartFigure
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
	asked, _ := readQuestion(url.Values{"where": v["where"]})
	q = lifeQuery{by: plainText(v.Get("by")), in: plainText(v.Get("in")), where: asked.Where}
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
func (s *Server) life(w http.ResponseWriter, r *http.Request) error {
	q, tidy := readLife(r.URL.Query())
	if !tidy {
		http.Redirect(w, r, q.url("/life"), http.StatusSeeOther)
		return nil
	}
	f, err := s.frame(r, "life", "Knot life")
	if err != nil {
		return err
	}
	p := lifePage{frame: f, By: lifeFactors(q.by), In: choose([]option{{Value: life.Hours, Text: "hours fished"}, {Value: life.Loads, Text: "loads, each hookup or snag"}}, q.in)}
	asked := question{Where: q.where}
	p.Where = filterOptions(asked, f.Units)
	p.Filters = takenFilters(p.Where, func(where string) string {
		rest := q
		rest.where = asked.without(where).Where
		return rest.url("/life")
	})
	status := http.StatusOK
	a, err := s.lifeOf(r.Context(), q.request(f.Units))
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		p.Problems, status = sentences(invalid), http.StatusUnprocessableEntity
	case err != nil:
		return err
	default:
		p.Title = "How long tags last, by " + strings.ToLower(a.By.Factor.Title)
		p.Life = s.newLifePart(f, a, q)
	}
	return s.render(w, status, "life", p)
}

func (s *Server) newLifePart(f frame, a life.Answer, q lifeQuery) *lifePart {
	p := &lifePart{Sentence: prose.LifeSentence(a, f.Units), Test: prose.LifeTest(a), Notes: prose.LifeNotes(a), LeftOut: prose.LeftOut(a.LeftOut),
		JSON: q.url("/life.json"), CSV: q.url("/life.csv")}
	if len(a.Groups) == 0 {
		return p
	}
	said := prose.SayLife(a, f.Units)
	p.Head, p.Rows = said.Tables[0].Texts()
	p.RiskHead, p.Risk = said.Tables[1].Texts()
	c := charts.Life(a, f.Units)
	p.Figure = s.newChartFigure(f, "Share of tags that have not broken, with 95% bands", &c, "knot life by", a.By.Factor.Title)
	p.Figure.Says, p.Figure.CSV = p.Sentence, p.CSV
	p.Figure.Spoken = "Chart of the share of tags still whole over time; the tables below have the same numbers. " + p.Sentence
	p.Figure.How = "Each step down is a break. Lines end where fewer than five tags were still followed, and the share need not begin at 0. Point at the chart for its numbers."
	if c.Drawn < len(a.Groups) {
		p.Figure.How += " It has the four fished most; the tables have all."
	}
	return p
}

// lifeFactors lists what lives may be divided by.
func lifeFactors(chosen string) []option {
	if chosen == "" {
		chosen = "junction"
	}
	var list []option
	for _, f := range journal.Factors() {
		if f.Key != "tag-length" && f.Key != "hang" {
			list = append(list, option{Value: f.Key, Text: f.Title})
		}
	}
	return choose(list, chosen)
}

// lifeJSON answers for programs, as the command line does.
func (s *Server) lifeJSON(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askLife(r)
	if err != nil {
		return err
	}
	return sendJSON(w, a, refused)
}

// lifeCSV answers for a spreadsheet: every step of every group.
func (s *Server) lifeCSV(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askLife(r)
	if err != nil {
		return err
	}
	if refused != nil {
		return refused
	}
	return sendCSV(w, fileName("knot life by", a.By.Factor.Title), prose.LifeSteps(a).WriteCSV)
}

func (s *Server) askLife(r *http.Request) (a life.Answer, refused *journal.Invalid, err error) {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return a, nil, err
	}
	q, _ := readLife(r.URL.Query())
	a, err = s.lifeOf(r.Context(), q.request(units.System(o.Units)))
	if errors.As(err, &refused) {
		return a, refused, nil
	}
	return a, nil, err
}
