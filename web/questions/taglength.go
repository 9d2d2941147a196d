package questions

import (
	"net/http"

	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// tagLengthPage shows an outcome over the length of the tag.
type tagLengthPage struct {
	page.Frame
	Outcomes, Bands []form.Option
	Where           []form.Option
	Filters         []Taken
	Problems        []string
	Empty           bool
	Answer          *answerPart
	Findings        string // the same question on the page of findings
	Curve           string // the same as a curve
}

// eachLength asks for every length on its own instead of bands.
const eachLength = "each"

// tagLength answers an address such as
// /tag-length?outcome=tangles&bands=10mm&where=angler=Orrin.
func (s *pages) tagLength(w http.ResponseWriter, r *http.Request) error {
	f, err := s.Frame(r, "tag-length", "Tag length")
	if err != nil {
		return err
	}
	q, _ := Read(r.URL.Query())
	bands := PlainText(r.URL.Query().Get("bands"))
	if q.Outcome == "" {
		q.Outcome = "tangles"
	}
	if bands == "" {
		bands = bandOptions(f.Units)[0].Value
	}
	q.By = []string{"tag-length:" + bands}
	if bands == eachLength {
		q.By = []string{"tag-length"}
	}
	p := tagLengthPage{
		Frame:    f,
		Outcomes: outcomeOptions(q.Outcome),
		Bands:    form.Select(append(bandOptions(f.Units), form.Option{Value: eachLength, Text: "each length"}), bands),
		Where:    filterOptions(q, f.Units),
		Findings: q.URL("/findings"),
		Curve:    Question{Outcome: q.Outcome, Over: "tag-length", Where: q.Where}.URL("/curve"),
	}
	p.Filters = TakenFilters(p.Where, func(where string) string { return q.without(where).tagLengthURL(bands) })
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
		s.answerTagLength(&p, a, q)
	}
	return s.Render(w, page.Status(p.Problems), "taglength", p)
}

func (s *pages) answerTagLength(p *tagLengthPage, a analytics.RateAnswer, q Question) {
	sys := p.Units
	narrow := func(g analytics.Group) string { return q.narrowed(a.By, g, sys).URL("/findings") }
	p.Answer = newAnswer(a, sys, narrow)
	p.Answer.Best = prose.Best(a, sys)
	p.Answer.JSON, p.Answer.CSV = q.URL("/findings.json"), q.URL("/findings.csv")
	if len(a.Groups) > 0 {
		p.Answer.Figure = s.answerFigure(p.Frame, charts.OverLength(a, sys, narrow), p.Answer, a)
	}
}

// tagLengthURL is the address of a question on the page of tag length.
func (q Question) tagLengthURL(bands string) string {
	q.By, q.Versus = nil, ""
	return q.URL("/tag-length") + "&bands=" + Escape(bands)
}
