package questions

import (
	"slices"

	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// newAnswer puts an answer into words and a table. narrow gives the address of
// the question within a group.
func newAnswer(a analytics.RateAnswer, sys units.System, narrow charts.Link) *answerPart {
	p := &answerPart{
		Outcome:  a.Outcome,
		Share:    a.Outcome.Measure == journal.ShareOf,
		Amount:   a.Outcome.Measure == journal.AmountPer,
		Sentence: prose.Sentence(a, sys),
		Measure:  prose.Measure(a.Outcome),
		Words:    len(a.By),
		Given:    prose.CorrectedFor(a.Given),
		LeftOut:  prose.LeftOut(a),
		Notes:    prose.Notes(a, sys),
	}
	if len(a.Groups) == 0 {
		return p
	}
	head, rows := prose.Table(a, sys)
	p.Head = arranged(head, head, p.Words)
	for i, texts := range rows {
		cells := arranged(head, texts, p.Words)
		row := tableRow{Levels: cells[:p.Words], Cells: cells[p.Words:]}
		if p.Words > 0 {
			row.Href = narrow(a.Groups[i])
		}
		p.Rows = append(p.Rows, row)
	}
	p.InAll = prose.InAll(a)
	return p
}

// answerFigure puts a chart of an answer into a figure.
func (s *pages) answerFigure(f page.Frame, c charts.Chart, p *answerPart, a analytics.RateAnswer) *page.Figure {
	title := prose.Measure(a.Outcome) + ", with 95% intervals"
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

// arranged makes a row of the table fit a phone: an interval stands under the
// number that it belongs to and q under its verdict, and after the levels come
// the rate and what it is compared with, then the four counts behind them.
func arranged(head, texts []string, words int) []page.Cell {
	var cells []page.Cell
	for i, text := range texts {
		last := len(cells) - 1
		switch {
		case head[i] == "95% interval":
			cells[last].Under = text
		case head[i] == "Verdict" && head[i-1] == "q":
			cells[last] = page.Cell{Text: text, Under: cells[last].Text}
		default:
			cells = append(cells, page.Cell{Text: text})
		}
	}
	counts := min(words+4, len(cells))
	return slices.Concat(cells[:words], cells[counts:], cells[words:counts])
}
