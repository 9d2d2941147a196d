package prose

import (
	"fmt"

	"rigtally/analytics"
)

// HeatTitle says what a heat map of an answer shows.
func HeatTitle(a analytics.RateAnswer) string {
	return Measure(a.Outcome) + ", faded where little is known"
}

// CorrectedTimes heads a scale of corrected ratios.
const CorrectedTimes = "Corrected times"

// HeatFades says what the steps of fading in a heat map mean, from full colour on.
func HeatFades() []string {
	return []string{"well known", "roughly", "hardly", "not yet"}
}

// ReadingHeat says how a heat map of an answer is read that shows so many of its pairs.
func ReadingHeat(a analytics.RateAnswer, drawn int) string {
	text := "A cell’s color fades to gray as its 95% interval widens, as happens where little was fished; it fades in steps, at half, one and two times the width of the scale. " +
		"The bar at its foot shows its " + a.Outcome.Exposure + ", as a share of the most. A pair never fished stays blank. "
	if drawn < len(a.Groups) {
		text += fmt.Sprintf("%d of %d pairs are shown; the table has all. ", drawn, len(a.Groups))
	}
	return text + "Point at a cell for its numbers, or step through the cells with the arrow keys; choose one to see only that."
}

// ReadingChart says how a chart of an answer is read that shows so many of its groups.
func ReadingChart(a analytics.RateAnswer, drawn int) string {
	text := ""
	if drawn < len(a.Groups) {
		text = fmt.Sprintf("The chart shows the %d of %d with the most %s; the table has all. ", drawn, len(a.Groups), a.Outcome.Exposure)
	}
	if len(a.Groups) > 1 {
		text += "A larger mark means more " + a.Outcome.Exposure + ". "
	}
	return text + "Point at a mark for its numbers; choose it to see only that."
}
