package questions

import (
	"context"
	"net/http"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

func (s *pages) curveOf(ctx context.Context, r analytics.CurveRequest) (analytics.CurveAnswer, error) {
	return page.Ask(ctx, s.Desk, r, func(ctx context.Context) (analytics.CurveAnswer, error) { return analytics.Curve(ctx, s.Store, r) })
}

// curvePage shows how a rate goes over a number.
type curvePage struct {
	page.Frame
	Outcomes, Over []form.Option
	Where, Given   []form.Option
	Filters        []Taken
	Problems       []string
	Empty          bool
	Answer         *curvePart
	Bands          string // the same by bands of tag length, when it goes over that
	Correct        string // the same, corrected for who fished and where
}

// curvePart is a curve as the page shows it.
type curvePart struct {
	Measure  string
	Sentence string
	Figure   *page.Figure
	Head     []string
	Rows     [][]string
	InAll    string
	LeftOut  []string
	Notes    []string
	Method   string
	Given    string
	JSON     string
	CSV      string
}

// pageRows of a curve's table show its shape without wearing a thumb out.
const pageRows = 24

// curve answers an address such as /curve?outcome=tangles&over=tag-length&given=angler.
func (s *pages) curve(w http.ResponseWriter, r *http.Request) error {
	q, tidy := Read(r.URL.Query())
	if !tidy {
		return page.See(w, r, q.URL("/curve"))
	}
	q = q.orFirstCurve()
	f, err := s.Frame(r, "tag-length", "Curve")
	if err != nil {
		return err
	}
	p := curvePage{Frame: f, Outcomes: outcomeOptions(q.Outcome), Over: overOptions(q.Over), Where: filterOptions(q, f.Units), Given: givenOptions(q), Correct: q.correctedCurve()}
	p.Filters = TakenFilters(p.Where, func(where string) string { return q.without(where).URL("/curve") })
	if q.Over == "tag-length" {
		p.Bands = q.tagLengthURL(bandOptions(f.Units)[0].Value)
	}
	a, err := s.curveOf(r.Context(), q.curveRequest(f.Units))
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	switch {
	case p.Problems != nil:
	case len(a.Rug) == 0 && len(a.Where) == 0 && len(a.LeftOut) == 0:
		p.Empty = true
	default:
		p.Title = a.Outcome.Title + " over " + strings.ToLower(a.Over.Title)
		p.Answer = newCurvePart(a, f.Units)
		p.Answer.JSON, p.Answer.CSV = q.URL("/curve.json"), q.URL("/curve.csv")
		if len(a.Points) > 1 {
			if p.Answer.Figure, err = s.curveFigure(r.Context(), f, p.Answer, a, q); err != nil {
				return err
			}
		}
	}
	return s.Render(w, page.Status(p.Problems), "curve", p)
}

func (s *pages) askCurve(r *http.Request, sys units.System) (analytics.CurveAnswer, error) {
	q, _ := Read(r.URL.Query())
	return s.curveOf(r.Context(), q.orFirstCurve().curveRequest(sys))
}

func curveFile(a analytics.CurveAnswer) string {
	return page.FileName(a.Outcome.Title, "over", a.Over.Title)
}

func newCurvePart(a analytics.CurveAnswer, sys units.System) *curvePart {
	p := &curvePart{
		Measure:  prose.Measure(a.Outcome),
		Sentence: prose.CurveSentence(a, sys),
		LeftOut:  prose.LeftOut(a.LeftOut),
		Notes:    prose.CurveNotes(a),
		Method:   a.Method,
		Given:    prose.CorrectedFor(a.Given),
		InAll:    prose.InAll(a.Outcome, a.Total),
	}
	if len(a.Points) > 1 {
		p.Head, p.Rows = prose.CurveTable(a, sys, pageRows).Texts()
	}
	return p
}

// curveFigure draws a curve; a corrected one with the uncorrected beside it.
func (s *pages) curveFigure(ctx context.Context, f page.Frame, p *curvePart, a analytics.CurveAnswer, q Question) (*page.Figure, error) {
	c := charts.Curve(a, f.Units)
	if len(q.Given) > 0 {
		q.Given = nil
		plain, err := s.curveOf(ctx, q.curveRequest(f.Units))
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

// orFirstCurve makes an address without a question ask the first one.
func (q Question) orFirstCurve() Question {
	if q.Outcome == "" {
		q.Outcome = "tangles"
	}
	if q.Over == "" {
		q.Over = "tag-length"
	}
	q.By, q.Versus = nil, ""
	return q
}

func (q Question) curveRequest(sys units.System) analytics.CurveRequest {
	return analytics.CurveRequest{Outcome: q.Outcome, Over: q.Over, Where: q.Where, Given: q.Given, Units: sys}
}

func (q Question) correctedCurve() string {
	if len(q.Given) > 0 {
		return ""
	}
	q.Given = []string{"angler", "water"}
	return q.URL("/curve")
}

// overOptions lists the numbers that a curve may go over.
func overOptions(chosen string) []form.Option {
	var list []form.Option
	for _, key := range []string{"tag-length", "tippet", "flow", "temperature"} {
		if f, err := journal.FactorByKey(key); err == nil {
			list = append(list, form.Option{Value: key, Text: f.Title})
		}
	}
	if i := slices.IndexFunc(list, func(o form.Option) bool { return o.Value == chosen }); i < 0 {
		return append(list, form.Option{Value: chosen, Text: chosen, Selected: true})
	}
	return form.Select(list, chosen)
}
