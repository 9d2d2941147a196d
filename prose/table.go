package prose

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Table lays the numbers of an answer out for people: one row for each group.
func Table(a analytics.RateAnswer, sys units.System) (header []string, rows [][]string) {
	for _, by := range a.By {
		header = append(header, by.Factor.Title)
	}
	header = append(header, "Stints", "Sessions", capital(a.Outcome.Exposure), capital(a.Outcome.Events), rateTitle(a.Outcome), "95% interval")
	compared := a.Reference >= 0 && len(a.Groups) > 1
	if compared {
		header = append(header, "Times "+Levels(a.By, a.Groups[a.Reference].Level, sys), "95% interval")
		if len(a.Given) > 0 {
			header = append(header, "Corrected times", "95% interval")
		}
		header = append(header, "q", "Verdict", "Hours needed with each")
	}
	for _, g := range a.Groups {
		rows = append(rows, row(a, g, sys, compared))
	}
	return header, rows
}

// rateTitle heads a column of rates.
func rateTitle(o journal.Outcome) string {
	if o.Measure == journal.AmountPer {
		return "Minutes per hour"
	}
	return capital(o.Unit())
}

// rateCell is a rate under its title.
func rateCell(o journal.Outcome, v float64) string {
	if o.Measure == journal.ShareOf {
		return percent(v)
	}
	return Figure(v)
}

func row(a analytics.RateAnswer, g analytics.Group, sys units.System, compared bool) []string {
	var cells []string
	for i, by := range a.By {
		cells = append(cells, Level(by.Factor, g.Level[i], sys))
	}
	interval := "?"
	if g.HasInterval {
		interval = Interval(a.Outcome, g.Low, g.High)
	}
	cells = append(cells, fmt.Sprint(g.Stints), fmt.Sprint(g.Sessions), exposure(g.Exposure), Count(g.Events), rateCell(a.Outcome, g.Rate), interval)
	switch {
	case !compared:
		return cells
	case g.Versus == nil:
		comparison := make([]string, 5)
		if len(a.Given) > 0 {
			comparison = make([]string, 7)
		}
		comparison[0] = "reference"
		return append(cells, comparison...)
	}
	plain := versus(g.Versus)
	cells = append(cells, plain[:2]...)
	if len(a.Given) > 0 {
		cells = append(cells, correctedCells(g.Corrected)...)
	}
	return append(cells, plain[2:]...)
}

// versus prints a comparison; what can't be computed is a question mark.
func versus(c *analytics.Comparison) []string {
	ratio, interval, q, hours := "?", "?", "?", "?"
	if c.Ratio != nil {
		ratio = Ratio(*c.Ratio)
	}
	switch {
	case c.Low != nil && c.High != nil:
		interval = Ratio(*c.Low) + "–" + Ratio(*c.High)
	case c.Low != nil:
		interval = "at least " + Ratio(*c.Low)
	}
	if c.Q != nil {
		q = PValue(*c.Q)
	}
	if c.HoursNeeded != nil {
		hours = Hours(*c.HoursNeeded)
	}
	return []string{ratio, interval, q, string(c.Verdict), hours}
}

// exposure prints hours and trials to a tenth at most.
func exposure(t float64) string {
	if t == math.Trunc(t) {
		return fmt.Sprintf("%.0f", t)
	}
	return fmt.Sprintf("%.1f", t)
}

// Text writes an answer for a terminal: sentence, table, notes.
func Text(w io.Writer, a analytics.RateAnswer, sys units.System) error {
	var b strings.Builder
	b.WriteString(Sentence(a, sys) + "\n")
	if len(a.Groups) > 0 {
		header, rows := Table(a, sys)
		b.WriteString("\n")
		writeTable(&b, header, rows, len(a.By))
		fmt.Fprintf(&b, "\n%d stints, %s, %s %s in all.\n", a.Total.Stints, exposure(a.Total.Exposure)+" "+a.Outcome.Exposure, Count(a.Total.Events), a.Outcome.Events)
	}
	if left := LeftOut(a); len(left) > 0 {
		b.WriteString("Left out: " + strings.Join(left, "; ") + ".\n")
	}
	for _, n := range Notes(a, sys) {
		b.WriteString(n + "\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// writeTable lines columns up: the first, which are words, to the left and the
// numbers to the right.
func writeTable(b *strings.Builder, header []string, rows [][]string, words int) {
	widths := make([]int, len(header))
	for _, r := range append([][]string{header}, rows...) {
		for i, cell := range r {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	for _, r := range append([][]string{header}, rows...) {
		var line strings.Builder
		for i, cell := range r {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell))
			if i < words {
				line.WriteString(cell + pad)
			} else {
				line.WriteString("  " + pad + cell)
			}
			if i < words-1 {
				line.WriteString("  ")
			}
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
}
