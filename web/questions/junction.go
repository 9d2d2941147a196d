package questions

import (
	"net/http"

	"rigtally/analytics"
	"rigtally/inquiry"
	"rigtally/prose"
	"rigtally/web/page"
)

// junctionPage says which junction knot to tie: what it does to tangles, and how it holds.
type junctionPage struct {
	page.Frame
	Empty bool
	Parts []junctionPart
}

// junctionPart is one of its questions.
type junctionPart struct {
	*answerPart
	Asks  string
	Whole string // address of the question by itself
}

// junction answers what is asked of junction knots, a card each.
func (s *pages) junction(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	p := junctionPage{Frame: f}
	for _, of := range []struct{ outcome, asks string }{{"tangles", "Which tangles least?"}, {"junction-break", "Which breaks least, with a fly on its tag?"}} {
		q := rates(map[string][]string{"outcome": {of.outcome}, "by": {"junction"}})
		a, err := inquiry.Rates().Ask(r.Context(), s.Asking(f.Outfit), q)
		if err != nil {
			return err
		}
		if nothingLogged(a) {
			continue
		}
		narrow := func(g analytics.Group) string { return narrowed(q, a.By, g, f.Units).URL("/findings") }
		part := junctionPart{newAnswer(a, f, narrow), of.asks, q.URL("/findings")}
		part.JSON, part.CSV = q.URL("/findings.json"), q.URL("/findings.csv")
		if part.Card != nil {
			part.Card.About = prose.Measure(a.Outcome)
			part.Card.Leading(part.Whole, "The whole answer")
		}
		if len(a.Groups) > 1 {
			part.Figure = s.answerFigure(f, drawRates(a, "", f.Units, narrow), part.answerPart, a)
		}
		p.Parts = append(p.Parts, part)
	}
	p.Empty = len(p.Parts) == 0
	return s.Render(w, http.StatusOK, "junction", p)
}
