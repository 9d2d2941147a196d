package prose

import (
	"fmt"
	"io"
	"strings"

	"rigtally/analytics"
	"rigtally/internal/units"
)

// likely is the probability that the range told for the best value holds it.
const likely = 0.95

// CurveSentence answers how a rate goes over a number, in a few sentences.
func CurveSentence(a analytics.CurveAnswer, sys units.System) string {
	over := strings.ToLower(a.Over.Title)
	filters := sayer{analytics.RateAnswer{Where: a.Where}, sys}.filters()
	switch {
	case len(a.Rug) == 0:
		return "The journal holds nothing on this question" + filters + " yet. Log or import some fishing first, or ask with fewer filters."
	case len(a.Rug) == 1:
		return fmt.Sprintf("The %s was always %s%s, so there is no curve to draw.", over, value(a.Over, a.Rug[0].At, sys), filters)
	case a.Total.Events == 0:
		return fmt.Sprintf("No %s in %s %s%s: too good to tell one %s from another.", a.Outcome.Events, Figure(a.Total.Exposure), a.Outcome.Exposure, filters, over)
	case len(a.Points) == 0:
		return fmt.Sprintf("There is too little fishing in the journal to draw %s over %s%s.", strings.ToLower(a.Outcome.Title), over, filters)
	}
	text := curveMatters(a, over) + " " + curveBest(a, sys) + filters + "."
	if len(a.Given) > 0 {
		text = "Corrected for " + givenTitles(a.Given) + ": " + lower(text)
	}
	return text
}

// settled is the p-value below which a test of a curve counts.
const settled = 0.05

func curveMatters(a analytics.CurveAnswer, over string) string {
	switch {
	case a.Matters == nil:
		return fmt.Sprintf("Too few sessions to tell whether %s matters.", over)
	case *a.Matters >= settled:
		return fmt.Sprintf("It can't be told yet whether %s makes a difference (p %s).", over, equals(*a.Matters))
	case a.Bends == nil:
		return fmt.Sprintf("%s makes a difference (p %s).", capital(over), equals(*a.Matters))
	case *a.Bends >= settled:
		return fmt.Sprintf("%s makes a difference (p %s); so far a straight line would say as much (p %s).", capital(over), equals(*a.Matters), equals(*a.Bends))
	}
	return fmt.Sprintf("%s makes a difference (p %s), and not in a straight line (p %s).", capital(over), equals(*a.Matters), equals(*a.Bends))
}

// equals is a p-value after the letter p.
func equals(p float64) string {
	if rest, below := strings.CutPrefix(PValue(p), "<"); below {
		return "< " + rest
	}
	return "= " + PValue(p)
}

// curveBest says where the rate is best, and within which range that is likely.
func curveBest(a analytics.CurveAnswer, sys units.System) string {
	best, word := 0, "Lowest"
	for i, p := range a.Points {
		if a.Highest && p.Rate > a.Points[best].Rate || !a.Highest && p.Rate < a.Points[best].Rate {
			best = i
		}
	}
	if a.Highest {
		word = "Highest"
	}
	p := a.Points[best]
	text := fmt.Sprintf("%s at %s: %s", word, value(a.Over, p.At, sys), Rate(a.Outcome, p.Rate))
	if p.HasInterval {
		text += fmt.Sprintf(" (95%% interval %s)", Interval(a.Outcome, p.Low, p.High))
	}
	low, high := likelyBest(a.Best)
	where := span(value(a.Over, low, sys), value(a.Over, high, sys))
	if low == high {
		where = value(a.Over, low, sys)
	}
	return text + fmt.Sprintf("; with %.0f%% probability the best lies at %s", 100*likely, where)
}

// likelyBest is the range that leaves at most half of what is unlikely on either side.
func likelyBest(best []analytics.Chance) (low, high float64) {
	below := 0.0
	found := false
	for _, c := range best {
		if !found && below+c.Probability > (1-likely)/2 {
			low, found = c.At, true
		}
		below += c.Probability
		high = c.At
		if below >= 1-(1-likely)/2 {
			break
		}
	}
	return low, high
}

// CurveNotes says what the reader of a curve must know, a sentence each.
func CurveNotes(a analytics.CurveAnswer) []string {
	var list []string
	for _, n := range a.Notes {
		text := aboutCorrection(n, a.Outcome, "", "")
		if n.Kind == analytics.NoteAsFair || n.Kind == analytics.NoteUntold {
			text = notTold(a.Outcome, n)
		}
		if text != "" {
			list = append(list, text)
		}
	}
	if len(a.Points) > 0 && len(a.Given) > 0 {
		list = append(list, "The level of the curve is that of the average of what is given, by "+a.Outcome.Exposure+".")
	}
	return list
}

// CurveTable lays a curve out for people in at most so many rows. The chance of a row to
// be best is that of the values nearest to it.
func CurveTable(a analytics.CurveAnswer, sys units.System, most int) (header []string, rows [][]string) {
	best := "Chance of the lowest"
	if a.Highest {
		best = "Chance of the highest"
	}
	header = []string{a.Over.Title, rateTitle(a.Outcome), "95% interval", best}
	every := max(1, (len(a.Points)+most-1)/most)
	first := (len(a.Points) - 1) % every / 2 // as far from the one end as from the other
	for i := first; i < len(a.Points); i += every {
		p, chance := a.Points[i], 0.0
		from, to := i-every/2, i+(every+1)/2
		if i == first {
			from = 0
		}
		if i+every >= len(a.Points) {
			to = len(a.Points)
		}
		for _, c := range a.Best[max(0, from):min(to, len(a.Best))] {
			chance += c.Probability
		}
		interval := "?"
		if p.HasInterval {
			interval = Interval(a.Outcome, p.Low, p.High)
		}
		rows = append(rows, []string{value(a.Over, p.At, sys), rateCell(a.Outcome, p.Rate), interval, percent(chance)})
	}
	return header, rows
}

// terminalRows are enough to see a curve's shape by.
const terminalRows = 16

// CurveText writes a curve for a terminal: sentence, table, notes.
func CurveText(w io.Writer, a analytics.CurveAnswer, sys units.System) error {
	var b strings.Builder
	b.WriteString(CurveSentence(a, sys) + "\n")
	if len(a.Points) > 0 {
		header, rows := CurveTable(a, sys, terminalRows)
		b.WriteString("\n")
		writeTable(&b, header, rows, 1)
	}
	if len(a.Rug) > 0 {
		b.WriteString("\n" + InAll(analytics.RateAnswer{Outcome: a.Outcome, Total: a.Total}) + "\n")
	}
	if left := LeftOut(analytics.RateAnswer{LeftOut: a.LeftOut}); len(left) > 0 {
		b.WriteString("Left out: " + strings.Join(left, "; ") + ".\n")
	}
	for _, n := range CurveNotes(a) {
		b.WriteString(n + "\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}
