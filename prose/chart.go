package prose

import (
	"fmt"

	"rigtally/analytics"
)

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
