package questions

import (
	"context"
	"net/http"
	"strings"

	"rigtally/inquiry"

	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// curvePage shows how a rate goes over a number.
type curvePage struct {
	asked
	Outcomes, Over, Given []form.Option
	Empty                 bool
	Answer                *curvePart
	Bands                 string // the same by bands of tag length, when it goes over that
	Correct               string // the same, corrected for who fished and where
}

// curvePart is a curve as the page shows it.
type curvePart struct {
	prose.Said
	Measure, Method string
	Given           string
	Figure          *page.Figure
	JSON, CSV       string
}

// curve answers an address such as /curve?outcome=tangles&over=tag-length&given=angler.
func (s *pages) curve(w http.ResponseWriter, r *http.Request, f page.Frame, q inquiry.Query) error {
	q = firstOutcome(q)
	p := curvePage{asked: newAsked(f, q, "/curve"), Outcomes: outcomeOptions(q.Get("outcome")), Over: overOptions(q.Get("over")), Given: givenOptions(q), Correct: corrected(q, "/curve")}
	if q.Get("over") == "tag-length" {
		p.Bands = tagLengthURL(rates(map[string][]string{"outcome": {q.Get("outcome")}, "where": q.All("where"), "given": q.All("given")}), bandOptions(f.Units)[0].Value)
	}
	a, err := inquiry.Curve().Ask(r.Context(), s.Asking(f.Outfit), q)
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	switch {
	case p.Problems != nil:
	case len(a.Rug) == 0 && len(a.Where) == 0 && len(a.LeftOut) == 0:
		p.Empty = true
	default:
		p.Answer = &curvePart{Said: prose.SayCurve(a, f.Units), Measure: prose.Measure(a.Outcome), Method: a.Method, Given: prose.CorrectedFor(a.Given), JSON: q.URL("/curve.json"), CSV: q.URL("/curve.csv")}
		p.Frame.Title = p.Answer.Title
		if len(a.Points) > 1 {
			if p.Answer.Figure, err = s.curveFigure(r.Context(), f, p.Answer, a, q); err != nil {
				return err
			}
		}
	}
	return s.Render(w, page.Status(p.Problems), "curve", p)
}

// curveFigure draws a curve; a corrected one with the uncorrected beside it.
func (s *pages) curveFigure(ctx context.Context, f page.Frame, p *curvePart, a analytics.CurveAnswer, q inquiry.Query) (*page.Figure, error) {
	c := charts.Curve(a, f.Units)
	if len(q.All("given")) > 0 {
		plain, err := inquiry.Curve().Ask(ctx, s.Asking(f.Outfit), q.With("given"))
		switch {
		case err == nil:
			c = charts.CurveBeside(a, plain, f.Units)
		case !journal.IsInvalid(err):
			return nil, err
		}
	}
	fig := s.NewFigure(f, p.Measure+", with a 95% band", &c, a.Outcome.Title, "over", a.Over.Title)
	fig.Says, fig.CSV = p.Sentence, p.CSV
	fig.Spoken = "Curve of " + strings.ToLower(p.Measure) + " with its 95% band; the table below has the same numbers. " + p.Sentence
	fig.How = "Bars below show where it was fished. Point at the curve for its numbers."
	return fig, nil
}

// overOptions lists the numbers that a curve may go over.
func overOptions(chosen string) []form.Option {
	var list []form.Option
	for _, key := range []string{"tag-length", "tippet", "flow", "temperature"} {
		if f, err := journal.FactorByKey(key); err == nil {
			list = append(list, form.Option{Value: key, Text: f.Title})
		}
	}
	return form.Select(list, chosen)
}
