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
	Outcomes, Over []form.Option
	Given          []givenOption
	Empty          bool
	Answer         *curvePart
	Bands          string    // the same by bands of tag length, when it goes over that
	Other          page.Link // the same with nothing held alike, or like for like
}

// curvePart is a curve as the page shows it.
type curvePart struct {
	prose.Said
	Card            *page.Card // nil where there is nothing to choose
	Measure, Method string
	Given           string // what is held alike; empty when nothing
	Model           analytics.Model
	Share           bool // the outcome is a share of trials
	Figure          *page.Figure
	JSON, CSV       string
}

// curve answers an address such as /curve?outcome=tangles&over=tag-length&given=angler.
func (s *pages) curve(w http.ResponseWriter, r *http.Request, f page.Frame, q inquiry.Query) error {
	q = notAsked(firstOutcome(q))
	p := curvePage{asked: newAsked(f, q, "/curve"), Outcomes: outcomeOptions(q.Get("outcome")), Over: overOptions(q.Get("over")), Given: givenOptions(q), Other: otherGivens(q, nil, "/curve")}
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
		p.Answer = &curvePart{Said: prose.SayCurve(a, f.Units), Measure: prose.Measure(a.Outcome), Method: a.Method, Given: prose.CorrectedFor(a.Given), Model: a.Model, Share: a.Outcome.Measure == journal.ShareOf, JSON: q.URL("/curve.json"), CSV: q.URL("/curve.csv")}
		if p.Answer.Card, err = s.curveCard(r.Context(), f, a, q); err != nil {
			return err
		}
		p.Frame.Title, p.Other = p.Answer.Title, otherGivens(q, a.Given, "/curve")
		if len(a.Points) > 1 {
			if p.Answer.Figure, err = s.curveFigure(r.Context(), f, p.Answer, a, q); err != nil {
				return err
			}
		}
	}
	return s.Render(w, page.Status(p.Problems), "curve", p)
}

// curveFigure draws a curve with the one as fished beside it: nothing held alike, and no luck of sessions
// taken out.
func (s *pages) curveFigure(ctx context.Context, f page.Frame, p *curvePart, a analytics.CurveAnswer, q inquiry.Query) (*page.Figure, error) {
	c := charts.Curve(a, f.Units)
	if len(a.Given) > 0 || a.Model != analytics.Marginal {
		fished, err := inquiry.Curve().Ask(ctx, s.Asking(f.Outfit), q.With("given").With("model", string(analytics.Marginal)))
		switch {
		case err == nil:
			c = charts.CurveBeside(a, fished, f.Units)
		case !journal.IsInvalid(err):
			return nil, err
		}
	}
	fig := s.NewFigure(f, p.Measure+", with a 95% band", &c, a.Outcome.Title, "over", a.Over.Title)
	fig.Says, fig.CSV = p.Sentence, p.CSV
	fig.Spoken = "Curve of " + strings.ToLower(p.Measure) + " with its 95% band; the table below has the same numbers. " + p.Sentence
	fig.How = "Bars below show where it was fished; the ground is shaded where it hardly was."
	return fig, nil
}

// overOptions lists the numbers that a curve may go over.
func overOptions(chosen string) []form.Option {
	var list []form.Option
	for _, key := range []string{"tag-length", "tippet", "flow", "flow-percentile", "temperature", "temperature-peak"} {
		if f, err := journal.FactorByKey(key); err == nil {
			list = append(list, form.Option{Value: key, Text: f.Title})
		}
	}
	return form.Select(list, chosen)
}

// curveCard is the card of a curve: that of the length of the tag, where that is asked.
func (s *pages) curveCard(ctx context.Context, f page.Frame, a analytics.CurveAnswer, q inquiry.Query) (*page.Card, error) {
	if a.Outcome.Key == "tangles" && a.Over.Key == "tag-length" {
		if card, err := s.tagCard(ctx, f, q); card != nil || err != nil {
			return card, err
		}
	}
	card, ok := prose.CurveCard(a, f.Units)
	return page.NewCard(f, card, ok), nil
}

// tagCard is the one answer on the length of the tag, for the filters of a question and what it holds alike; nil
// where the journal can't tell.
func (s *pages) tagCard(ctx context.Context, f page.Frame, q inquiry.Query) (*page.Card, error) {
	said := map[string][]string{"where": q.All("where")}
	if q.IsSaid("given") {
		said["given"] = append([]string{""}, q.All("given")...)
	}
	of, _ := inquiry.Read(inquiry.Plan().Params, said)
	a, err := inquiry.Plan().Ask(ctx, s.Asking(f.Outfit), of)
	if journal.IsInvalid(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	card, ok := prose.TagCard(a, f.Units)
	return page.NewCard(f, card, ok), nil
}
