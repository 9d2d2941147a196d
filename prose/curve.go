package prose

import (
	"fmt"
	"rigtally/analytics/answer"
	"strings"

	"rigtally/analytics"
	"rigtally/internal/table"
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
		return "The journal has nothing on this question" + filters + " yet. Log or import some fishing first, or use fewer filters."
	case len(a.Rug) == 1:
		return fmt.Sprintf("The %s was always %s%s, so there is no curve to draw.", over, value(a.Over, a.Rug[0].At, sys), filters)
	case a.Total.Events == 0:
		return fmt.Sprintf("No %s in %s %s%s, so can't tell one %s from another yet.", a.Outcome.Events, Figure(a.Total.Exposure), a.Outcome.Exposure, filters, over)
	case len(a.Points) == 0:
		return fmt.Sprintf("Too little fishing in the journal to draw %s over %s%s.", strings.ToLower(a.Outcome.Title), over, filters)
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
		return fmt.Sprintf("Can't tell yet whether %s makes a difference (p %s).", over, equals(*a.Matters))
	case a.Bends == nil:
		return fmt.Sprintf("%s makes a difference (p %s).", capital(over), equals(*a.Matters))
	case *a.Bends >= settled:
		return fmt.Sprintf("%s makes a difference (p %s); so far a straight line would do (p %s).", capital(over), equals(*a.Matters), equals(*a.Bends))
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
	return text + fmt.Sprintf("; with %.0f%% probability the best is at %s", 100*likely, where)
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
		list = append(list, "The curve is drawn for the average of what it is corrected for, weighted by "+a.Outcome.Exposure+".")
	}
	return list
}

// mostRows are enough to see a curve's shape by, without wearing a thumb out.
const mostRows = 24

// SayCurve puts a curve into words and a table of its shape.
func SayCurve(a analytics.CurveAnswer, sys units.System) Said {
	s := Said{Title: a.Outcome.Title + " over " + strings.ToLower(a.Over.Title), Sentence: CurveSentence(a, sys), LeftOut: LeftOut(a.LeftOut), Notes: CurveNotes(a)}
	if len(a.Points) > 0 {
		s.Tables = []table.Table{CurveTable(a, sys, mostRows)}
	}
	if len(a.Rug) > 0 {
		s.InAll = InAll(a.Outcome, a.Total)
	}
	return s
}

// CurveTable lays a curve out in at most so many rows. The chance of a row to be best is that of
// the values nearest to it.
func CurveTable(a analytics.CurveAnswer, sys units.System, most int) table.Table {
	every := max(1, (len(a.Points)+most-1)/most)
	first := (len(a.Points) - 1) % every / 2 // as far from the one end as from the other
	var at []int
	for i := first; i < len(a.Points); i += every {
		at = append(at, i)
	}
	var c table.Columns[int]
	c.Add(a.Over.Key, a.Over.Title, func(i int) table.Cell { return table.Number(value(a.Over, a.Points[i].At, sys), &a.Points[i].At) }).Words = true
	c.Number("rate", rateTitle(a.Outcome), func(v float64) string { return rateCell(a.Outcome, v) }, func(i int) *float64 { return &a.Points[i].Rate })
	c.Said("interval", "95% interval", func(i int) string {
		if p := a.Points[i]; p.HasInterval {
			return Interval(a.Outcome, p.Low, p.High)
		}
		return table.Unknown
	})
	end := func(v func(analytics.CurvePoint) float64) func(int) *float64 {
		return func(i int) *float64 {
			if p := a.Points[i]; p.HasInterval {
				return answer.Known(v(p))
			}
			return nil
		}
	}
	c.Value("low", end(func(p analytics.CurvePoint) float64 { return p.Low }))
	c.Value("high", end(func(p analytics.CurvePoint) float64 { return p.High }))
	c.Value("se_log", end(func(p analytics.CurvePoint) float64 { return p.SELog }))
	best := "Chance of the lowest"
	if a.Highest {
		best = "Chance of the highest"
	}
	c.Add("best", best, func(i int) table.Cell {
		chance, from, to := 0.0, i-every/2, i+(every+1)/2
		if i == first {
			from = 0
		}
		if i+every >= len(a.Points) {
			to = len(a.Points)
		}
		for _, of := range a.Best[max(0, from):min(to, len(a.Best))] {
			chance += of.Probability
		}
		return table.Number(percent(chance), &chance)
	})
	t := c.Make(at)
	t.Title = Measure(a.Outcome)
	return t
}
