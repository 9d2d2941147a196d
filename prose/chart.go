package prose

import (
	"fmt"

	"rigtally/analytics"
)

// HeatTitle says what a heat map of an answer shows.
func HeatTitle(a analytics.RateAnswer) string {
	return Measure(a.Outcome) + ", fading where it is little known"
}

// CorrectedTimes heads a scale of corrected ratios.
const CorrectedTimes = "Corrected times"

// HeatFades says what the steps of fading in a heat map mean, from full colour on.
func HeatFades() []string {
	return []string{"well known", "roughly", "hardly", "not yet"}
}

// ReadingHeat says how a heat map of an answer is read that shows so many of its pairs.
func ReadingHeat(a analytics.RateAnswer, drawn int) string {
	text := "A cell’s colour fades to grey as its 95% interval widens, as it does where little was fished; the steps are half, the whole and twice the width of the scale. " +
		"The bar at its foot is its share of the most " + a.Outcome.Exposure + ". A pair that was never fished stays blank. "
	if drawn < len(a.Groups) {
		text += fmt.Sprintf("%d of %d pairs are shown; the table has all. ", drawn, len(a.Groups))
	}
	return text + "Point at a cell for its numbers, or step through with the arrow keys; choose it to look only at that."
}

// ReadingChart says how a chart of an answer is read that shows so many of its groups.
func ReadingChart(a analytics.RateAnswer, drawn int) string {
	text := ""
	if drawn < len(a.Groups) {
		text = fmt.Sprintf("The chart shows the %d of %d with the most %s; the table has all. ", drawn, len(a.Groups), a.Outcome.Exposure)
	}
	if len(a.Groups) > 1 {
		text += "A larger mark stands for more " + a.Outcome.Exposure + ". "
	}
	return text + "Point at a mark for its numbers; choose it to look only at that."
}
