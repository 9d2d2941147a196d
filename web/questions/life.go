package questions

import (
	"net/http"
	"slices"

	"rigtally/inquiry"

	"rigtally/analytics/life"

	"rigtally/charts"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// lifePage shows how long tags and their junctions last.
type lifePage struct {
	asked
	By, In []form.Option
	Life   *lifePart
}

// lifePart is an answer as the page shows it.
type lifePart struct {
	prose.Said
	Card      *page.Card // nil where nothing can be compared
	Figure    *page.Figure
	JSON, CSV string
}

// life answers an address such as /life?by=facing&in=loads&where=junction=blood.
func (s *pages) life(w http.ResponseWriter, r *http.Request, f page.Frame, q inquiry.Query) error {
	p := lifePage{asked: newAsked(f, q, "/life"), By: lifeFactors(q.Get("by")), In: form.Select(form.Pairs(life.Hours, "hours fished", life.Loads, "pulls by fish and snags"), q.Get("in"))}
	a, err := inquiry.Life().Ask(r.Context(), s.Asking(f.Outfit), q)
	if p.Problems, err = page.WhyNot(err); err != nil {
		return err
	}
	if p.Problems == nil {
		p.Life = s.newLifePart(f, a, q)
		p.Frame.Title = p.Life.Title
	}
	return s.Render(w, page.Status(p.Problems), "life", p)
}

func (s *pages) newLifePart(f page.Frame, a life.Answer, q inquiry.Query) *lifePart {
	card, ok := prose.LifeCard(a, f.Units)
	p := &lifePart{Said: prose.SayLife(a, f.Units), Card: page.NewCard(f, card, ok), JSON: q.URL("/life.json"), CSV: q.URL("/life.csv")}
	if len(a.Groups) == 0 {
		return p
	}
	c := charts.Life(a, f.Units)
	p.Figure = s.NewFigure(f, "Share of tags that have not broken, with 95% bands", &c, "knot life by", a.By.Factor.Title)
	p.Figure.Says, p.Figure.CSV = p.Sentence, p.CSV
	p.Figure.Spoken = "Chart of the share of tags still whole over time; the tables below have the same numbers. " + p.Sentence
	p.Figure.How = "Each step down is a break; the numbers below are the tags still followed. Lines end where fewer than five tags were still followed, and the share need not begin at 0."
	if c.Drawn < len(a.Groups) {
		p.Figure.How += " It has the four fished most; the tables have all."
	}
	return p
}

// lifeFactors lists what lives may be divided by.
func lifeFactors(chosen string) []form.Option {
	factors := slices.DeleteFunc(journal.Factors(), func(f journal.Factor) bool { return !slices.Contains(inquiry.LifeFactorKeys(), f.Key) })
	return form.Select(form.Offer("", factors, form.Factor), chosen)
}
