package prose

import (
	"fmt"
	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"strings"
)

// likely is the probability that the range told for the best value holds it.
const likely = 0.95

// CurveSentence answers how a rate goes over a number, in a few sentences.
func CurveSentence(a analytics.CurveAnswer, sys units.System) string {
	over := strings.ToLower(a.Over.Title)
	filters := within(a.Where, sys)
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
		text = "Corrected for " + CorrectedFor(a.Given) + ": " + Lower(text)
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
		return fmt.Sprintf("%s makes a difference (p %s).", Capital(over), equals(*a.Matters))
	case *a.Bends >= settled:
		return fmt.Sprintf("%s makes a difference (p %s); so far a straight line would do (p %s).", Capital(over), equals(*a.Matters), equals(*a.Bends))
	}
	return fmt.Sprintf("%s makes a difference (p %s), and not in a straight line (p %s).", Capital(over), equals(*a.Matters), equals(*a.Bends))
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
	list := worded(a.Notes, func(n analytics.Note) string {
		if n.Kind == analytics.NoteAsFair || n.Kind == analytics.NoteUntold {
			return notTold(a.Outcome, n)
		}
		return aboutCorrection(n, a.Outcome, "", "")
	})
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
	if s.Bet = SayCurveBet(a, sys); s.Bet != "" {
		s.BetHow = betHow(a.Bet.Prior, true)
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
	c.Values(func(i int) []*float64 {
		p := a.Points[i]
		if !p.HasInterval {
			return nil
		}
		return answer.Numbers(p.Low, p.High, p.SELog)
	}, "low", "high", "se_log")
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
		return table.Number(Percent(chance), &chance)
	})
	t := c.Make(at)
	t.Title = Measure(a.Outcome)
	return t
}

// correctedTimes is a corrected ratio with its interval and, beside it, the plain one.
func correctedTimes(g analytics.Group) string {
	c := g.Corrected
	if c == nil || c.Ratio == nil {
		return "an unknown number of times (uncorrected " + strings.Trim(times(g.Versus), "()") + ")"
	}
	var beside []string
	if c.Low != nil && c.High != nil {
		beside = append(beside, Ratio(*c.Low)+"–"+Ratio(*c.High))
	}
	if r := g.Versus.Ratio; r != nil {
		beside = append(beside, "uncorrected "+Ratio(*r))
	}
	if len(beside) == 0 {
		return Ratio(*c.Ratio) + " times"
	}
	return fmt.Sprintf("%s times (%s)", Ratio(*c.Ratio), strings.Join(beside, "; "))
}

// aboutCorrection words the notes of corrected comparisons and curves; group names the
// group a note is about and the one it is compared with.
func aboutCorrection(n analytics.Note, o journal.Outcome, group, reference string) string {
	title := n.Factor.Title
	switch n.Kind {
	case analytics.NoteOneSession:
		if group == "" {
			return Plural(n.Count, "point of the curve has", "points of the curve have") + " no interval: a single session is behind each."
		}
		return fmt.Sprintf("%s or %s was fished in one session only, so its corrected ratio has no interval.", Capital(group), reference)
	}
	return map[analytics.NoteKind]string{
		analytics.NoteTooFewToCorrect: fmt.Sprintf("This rests on %s, too few to correct for anything or to draw a curve: that takes at least 3, and can be trusted from about 20.", Several(n.Count, "session")),
		analytics.NoteFewToCorrect:    fmt.Sprintf("%s are few for a regression; its intervals are wider for it.", Several(n.Count, "session")),
		analytics.NoteExplained:       fmt.Sprintf("%s has no corrected ratio: it was never fished where the corrections are the same as for %s, so there is nothing to compare.", Capital(group), reference),
		analytics.NoteNoneToCorrect:   fmt.Sprintf("%s or %s has no %s at all, so it has no corrected ratio.", Capital(group), reference, o.Events),
		analytics.NotePenalised:       fmt.Sprintf("One level has no %s at all; the regression stays finite as if half of one had happened (Firth), so take its ratio as rough.", o.Events),
		analytics.NoteGivenSame:       title + " was the same throughout, so correcting for it changes nothing.",
		analytics.NoteGivenRepeats:    fmt.Sprintf("Part of %s is already covered by the corrections before it, and is left out; that changes no comparison.", strings.ToLower(title)),
		analytics.NoteUnsettled:       "The regression found no stable answer; correct for fewer factors, or use fewer filters.",
		analytics.NoteStraight:        fmt.Sprintf("It was fished at %d different values, or nearly always at one: too few for a curve, so it is a straight line (of the logarithm).", n.Count),
	}[n.Kind]
}

// paradox says that plain and corrected disagree.
func paradox(a analytics.RateAnswer, n analytics.Note, group, reference string) string {
	g := a.Groups[n.Group]
	plain, corrected := *g.Versus.Ratio, *g.Corrected.Ratio
	how := "which is quite different"
	if (plain > 1) != (corrected > 1) {
		how = "the other way around"
	}
	return fmt.Sprintf("Watch %s: uncorrected it has %s times the %s of %s, corrected %s times, %s. Most of that is %s: %s and %s were not spread evenly over it (Simpson's paradox).",
		group, Ratio(plain), a.Outcome.Events, reference, Ratio(corrected), how, strings.ToLower(n.Factor.Title), group, reference)
}

// names are those of the group that a note is about and of the reference.
func names(a analytics.RateAnswer, n analytics.Note, sys units.System) (group, reference string) {
	if n.Group < 0 || n.Group >= len(a.Groups) || a.Reference < 0 {
		return "", ""
	}
	return Levels(a.By, a.Groups[n.Group].Level, sys), Levels(a.By, a.Groups[a.Reference].Level, sys)
}
