package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// curvePage shows how a rate goes over a number.
type curvePage struct {
	frame
	Outcomes, Over []option
	Where, Given   []option
	Filters        []taken
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
	Figure   *chartFigure
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
func (s *Server) curve(w http.ResponseWriter, r *http.Request) error {
	q, tidy := readQuestion(r.URL.Query())
	if !tidy {
		http.Redirect(w, r, q.url("/curve"), http.StatusSeeOther)
		return nil
	}
	q = q.orFirstCurve()
	f, err := s.frame(r, "tag-length", "Curve")
	if err != nil {
		return err
	}
	p := curvePage{frame: f, Outcomes: outcomeOptions(q.Outcome), Over: overOptions(q.Over), Where: filterOptions(q, f.Units), Given: givenOptions(q), Correct: q.correctedCurve()}
	p.Filters = takenFilters(p.Where, func(where string) string { return q.without(where).url("/curve") })
	if q.Over == "tag-length" {
		p.Bands = q.tagLengthURL(bandOptions(f.Units)[0].Value)
	}
	status := http.StatusOK
	a, err := s.curveOf(r.Context(), q.curveRequest(f.Units))
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		p.Problems, status = sentences(invalid), http.StatusUnprocessableEntity
	case err != nil:
		return err
	case len(a.Rug) == 0 && len(a.Where) == 0 && len(a.LeftOut) == 0:
		p.Empty = true
	default:
		p.Title = a.Outcome.Title + " over " + strings.ToLower(a.Over.Title)
		p.Answer = newCurvePart(a, f.Units)
		p.Answer.JSON, p.Answer.CSV = q.url("/curve.json"), q.url("/curve.csv")
		if len(a.Points) > 1 {
			if p.Answer.Figure, err = s.curveFigure(r.Context(), f, p.Answer, a, q); err != nil {
				return err
			}
		}
	}
	return s.render(w, status, "curve", p)
}

// curveJSON answers for programs, as the command line does.
func (s *Server) curveJSON(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askCurve(r)
	if err != nil {
		return err
	}
	status, body := http.StatusOK, any(a)
	if refused != nil {
		status, body = http.StatusUnprocessableEntity, map[string]string{"error": strings.Join(sentences(refused), " ")}
	}
	text, err := json.Marshal(body)
	if err != nil {
		return fmt.Errorf("write the curve as JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(append(text, '\n')) // a browser that went away is no failure
	return nil
}

// curveCSV answers for a spreadsheet: every point of the curve.
func (s *Server) curveCSV(w http.ResponseWriter, r *http.Request) error {
	a, refused, err := s.askCurve(r)
	if err != nil {
		return err
	}
	if refused != nil {
		return refused
	}
	return sendCSV(w, fileName(a.Outcome.Title, "over", a.Over.Title), prose.CurveTable(a, units.Metric, max(1, len(a.Points))).WriteCSV)
}

// askCurve answers the question of an address. refused says what is wrong with the question.
func (s *Server) askCurve(r *http.Request) (a analytics.CurveAnswer, refused *journal.Invalid, err error) {
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return a, nil, err
	}
	q, _ := readQuestion(r.URL.Query())
	a, err = s.curveOf(r.Context(), q.orFirstCurve().curveRequest(units.System(o.Units)))
	if errors.As(err, &refused) {
		return a, refused, nil
	}
	return a, nil, err
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
func (s *Server) curveFigure(ctx context.Context, f frame, p *curvePart, a analytics.CurveAnswer, q question) (*chartFigure, error) {
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
	fig := s.newChartFigure(f, p.Measure+", with a 95% band", &c, a.Outcome.Title, "over", a.Over.Title)
	fig.Says, fig.CSV = p.Sentence, p.CSV
	fig.Spoken = "Curve of " + strings.ToLower(p.Measure) + " with its 95% band; the table below has the same numbers. " + p.Sentence
	fig.How = "Bars below show where it was fished. Point at the curve for its numbers."
	return fig, nil
}

// orFirstCurve makes an address without a question ask the first one.
func (q question) orFirstCurve() question {
	if q.Outcome == "" {
		q.Outcome = "tangles"
	}
	if q.Over == "" {
		q.Over = "tag-length"
	}
	q.By, q.Versus = nil, ""
	return q
}

func (q question) curveRequest(sys units.System) analytics.CurveRequest {
	return analytics.CurveRequest{Outcome: q.Outcome, Over: q.Over, Where: q.Where, Given: q.Given, Units: sys}
}

func (q question) correctedCurve() string {
	if len(q.Given) > 0 {
		return ""
	}
	q.Given = []string{"angler", "water"}
	return q.url("/curve")
}

// overOptions lists the numbers that a curve may go over.
func overOptions(chosen string) []option {
	var list []option
	for _, key := range []string{"tag-length", "tippet", "flow", "temperature"} {
		if f, err := journal.FactorByKey(key); err == nil {
			list = append(list, option{Value: key, Text: f.Title})
		}
	}
	if i := slices.IndexFunc(list, func(o option) bool { return o.Value == chosen }); i < 0 {
		return append(list, option{Value: chosen, Text: chosen, Selected: true})
	}
	return choose(list, chosen)
}
