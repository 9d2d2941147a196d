package web

import (
	"net/http"

	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/prose"
)

// tagLengthPage shows an outcome over the length of the tag.
type tagLengthPage struct {
	frame
	Outcomes, Bands []option
	Where           []option
	Filters         []taken
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
func (s *Server) tagLength(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r, "tag-length", "Tag length")
	if err != nil {
		return err
	}
	q, _ := readQuestion(r.URL.Query())
	bands := plainText(r.URL.Query().Get("bands"))
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
		frame:    f,
		Outcomes: outcomeOptions(q.Outcome),
		Bands:    choose(append(bandOptions(f.Units), option{Value: eachLength, Text: "each length"}), bands),
		Where:    filterOptions(q, f.Units),
		Findings: q.url("/findings"),
		Curve:    question{Outcome: q.Outcome, Over: "tag-length", Where: q.Where}.url("/curve"),
	}
	p.Filters = takenFilters(p.Where, func(where string) string { return q.without(where).tagLengthURL(bands) })
	a, err := s.ratesOf(r.Context(), q.request(f.Units))
	if p.Problems, err = whyNot(err); err != nil {
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
	return s.render(w, statusOf(p.Problems), "taglength", p)
}

func (s *Server) answerTagLength(p *tagLengthPage, a analytics.RateAnswer, q question) {
	sys := p.Units
	narrow := func(g analytics.Group) string { return q.narrowed(a.By, g, sys).url("/findings") }
	p.Answer = newAnswer(a, sys, narrow)
	p.Answer.Best = prose.Best(a, sys)
	p.Answer.JSON, p.Answer.CSV = q.url("/findings.json"), q.url("/findings.csv")
	if len(a.Groups) > 0 {
		p.Answer.Figure = s.answerFigure(p.frame, charts.OverLength(a, sys, narrow), p.Answer, a)
	}
}

// tagLengthURL is the address of a question on the page of tag length.
func (q question) tagLengthURL(bands string) string {
	q.By, q.Versus = nil, ""
	return q.url("/tag-length") + "&bands=" + escape(bands)
}
