package questions

import (
	"slices"

	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// newAnswer puts an answer into words and a table. narrow gives the address of
// the question within a group.
func newAnswer(a analytics.RateAnswer, f page.Frame, narrow charts.Link) *answerPart {
	card, ok := prose.RateCard(a, f.Units)
	p := &answerPart{
		Said:    prose.SayRates(a, f.Units),
		Card:    page.NewCard(f, card, ok),
		Outcome: a.Outcome,
		Share:   a.Outcome.Measure == journal.ShareOf,
		Amount:  a.Outcome.Measure == journal.AmountPer,
		Given:   prose.CorrectedFor(a.Given),
		Model:   a.Model,
		Turned:  slices.ContainsFunc(a.Notes, func(n analytics.Note) bool { return n.Kind == analytics.NoteReversal }),
	}
	if len(a.Groups) == 0 {
		return p
	}
	t := p.Tables[0]
	for i, g := range a.Groups {
		if len(a.By) > 0 {
			t.Rows[i].Href = narrow(g)
		}
	}
	p.Table = t.StackFirst(a.Matters)
	return p
}

// answerFigure puts a chart of an answer into a figure.
func (s *pages) answerFigure(f page.Frame, c charts.Chart, p *answerPart, a analytics.RateAnswer) *page.Figure {
	title := prose.Measure(a.Outcome) + " as fished, with 95% intervals"
	if c.Ratios {
		title = prose.RatiosTitle(a, f.Units)
	}
	fig := s.NewFigure(f, title, &c, prose.Question(a.Outcome, a.By))
	fig.Says, fig.Spoken, fig.CSV = p.Sentence, prose.Described(a, f.Units), p.CSV
	fig.How = prose.ReadingChart(a, c.Drawn)
	if c.Crossed {
		fig.How = prose.ReadingHeat(a, c.Drawn)
		if !c.Ratios {
			fig.Title = prose.HeatTitle(a)
		}
	}
	return fig
}
