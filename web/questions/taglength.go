package questions

import (
	"context"
	"net/http"
	"net/url"
	"strings"

	"rigtally/inquiry"
	"rigtally/internal/units"

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
func (s *pages) tagLength(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	q := firstOutcome(rates(r.URL.Query()))
	bands := lengthBands(r.URL.Query(), f.Units)
	q = q.With("by", "tag-length:"+bands)
	if bands == eachLength {
		q = q.With("by", "tag-length")
	}
	p := tagLengthPage{
		Frame:    f,
		Outcomes: outcomeOptions(q.Get("outcome")),
		Bands:    form.Select(append(bandOptions(f.Units), form.Option{Value: eachLength, Text: "each length"}), bands),
		Where:    filterOptions(q, f.Units),
		Findings: q.URL("/findings"),
		Curve:    CurveURL(map[string][]string{"outcome": {q.Get("outcome")}, "where": q.All("where"), "given": q.All("given")}),
	}
	for _, o := range p.Where {
		p.Filters = append(p.Filters, Taken{o.Text, tagLengthURL(q.Without("where", o.Value), bands)})
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
		if err := s.answerTagLength(r.Context(), &p, a, q); err != nil {
			return err
		}
	}
	return s.Render(w, page.Status(p.Problems), "taglength", p)
}

func (s *pages) answerTagLength(ctx context.Context, p *tagLengthPage, a analytics.RateAnswer, q inquiry.Query) (err error) {
	sys := p.Units
	narrow := func(g analytics.Group) string { return narrowed(q, a.By, g, sys).URL("/findings") }
	p.Answer = newAnswer(a, p.Frame, narrow)
	p.Answer.Best = prose.Best(a, sys)
	if a.Outcome.Key == "tangles" {
		if p.Answer.Card, err = s.tagCard(ctx, p.Frame, q); err != nil {
			return err
		}
	}
	p.Answer.JSON, p.Answer.CSV = q.URL("/findings.json"), q.URL("/findings.csv")
	if len(a.Groups) > 0 {
		p.Answer.Figure = s.answerFigure(p.Frame, charts.OverLength(a, sys, narrow), p.Answer, a)
	}
	return nil
}

// lengthBands are the bands that an address asks for, or the first there are.
func lengthBands(v url.Values, sys units.System) string {
	q, _ := inquiry.Read([]inquiry.Param{{Key: "bands", Default: []string{bandOptions(sys)[0].Value}}}, v)
	return q.Get("bands")
}

// tagLengthURL is the address of a question on the page of tag length.
func tagLengthURL(q inquiry.Query, bands string) string {
	address := q.With("by").With("versus").URL("/tag-length")
	sign := "?"
	if strings.Contains(address, "?") {
		sign = "&"
	}
	return address + sign + "bands=" + url.QueryEscape(bands)
}
