package web

import (
	"rigtally/analytics"
	"rigtally/charts"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
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
		LeftOut:  prose.LeftOut(a),
		Notes:    prose.Notes(a),
	}
	if len(a.Groups) == 0 {
		return p
	}
	head, rows := prose.Table(a, sys)
	p.Head = folded(head, head)
	for i, texts := range rows {
		cells := folded(head, texts)
		row := tableRow{Levels: cells[:p.Words], Cells: cells[p.Words:]}
		if p.Words > 0 {
			row.Href = narrow(a.Groups[i])
		}
		p.Rows = append(p.Rows, row)
	}
	p.InAll = prose.InAll(a)
	return p
}

// draw adds a chart with its words.
func (p *answerPart) draw(c charts.Chart, a analytics.RateAnswer, sys units.System) {
	p.Chart, p.Spoken = &c, prose.Described(a, sys)
}

// folded puts an interval under the number that it belongs to, since a table of
// a dozen columns fits no phone.
func folded(head, texts []string) []tableCell {
	var cells []tableCell
	for i, text := range texts {
		if head[i] == "95% interval" && len(cells) > 0 {
			cells[len(cells)-1].Under = text
			continue
		}
		cells = append(cells, tableCell{Text: text})
	}
	return cells
}
