package prose

import (
	"cmp"
	"fmt"
	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"slices"
	"strings"
)

// CurveSentence answers how a rate goes over a number, in a few sentences.
func CurveSentence(a analytics.CurveAnswer, sys units.System) string {
	over := strings.ToLower(a.Over.Title)
	filters := within(a.Where, sys)
	switch {
	case len(a.Rug) == 0:
		return nothing(a.LeftOut, filters)
	case len(a.Rug) == 1:
		return fmt.Sprintf("The %s was always %s%s, so there is no curve to draw.", over, value(a.Over, a.Rug[0].At, sys), filters)
	case a.Total.Events == 0:
		return fmt.Sprintf("No %s in %s %s%s, so can't tell one %s from another yet.", a.Outcome.Events, fished(a.Total.Exposure), Against(a.Outcome), filters, over)
	case len(a.Points) == 0:
		return noCurve(a, over, filters)
	}
	text := curveMatters(a, over)
	if best := curveBest(a, sys); best != "" {
		text += " " + best + filters + "."
	}
	if len(a.Given) > 0 {
		text = "Like for like (" + CorrectedFor(a.Given) + "): " + Lower(text)
	}
	return text
}

// noCurve says what keeps a curve from being drawn.
func noCurve(a analytics.CurveAnswer, over, filters string) string {
	for _, n := range a.Notes {
		switch {
		case n.Kind == analytics.NoteExplained && n.Factor.Key != "":
			return fmt.Sprintf("%s and %s go together here%s: nobody’s fishing tells one from the other, so there is no curve like for like.", Capital(over), went(n.Factor), filters)
		case n.Kind == analytics.NoteExplained:
			return fmt.Sprintf("%s goes together with what is held alike (%s)%s: nobody’s fishing tells one from the other, so there is no curve like for like.", Capital(over), CorrectedFor(a.Given), filters)
		}
	}
	return fmt.Sprintf("Too little fishing in the journal to draw %s over %s%s.", strings.ToLower(a.Outcome.Title), over, filters)
}

// settled is the p-value below which a test of a curve counts.
const settled = 0.05

func curveMatters(a analytics.CurveAnswer, over string) string {
	switch {
	case a.Matters == nil:
		return fmt.Sprintf("Too few sessions to tell whether %s matters.", over)
	case *a.Matters >= settled:
		return fmt.Sprintf("Can't tell yet whether %s makes a difference.", over)
	case a.Bends == nil:
		return fmt.Sprintf("%s makes a difference.", Capital(over))
	case *a.Bends >= settled:
		return fmt.Sprintf("%s makes a difference; so far a straight line would do.", Capital(over))
	}
	return fmt.Sprintf("%s makes a difference, and not in a straight line.", Capital(over))
}

// CurveBeside says in figures what the sentence of a curve says in words, and where it was hardly fished.
func CurveBeside(a analytics.CurveAnswer, sys units.System) []string {
	if len(a.Points) == 0 {
		return nil
	}
	var list []string
	c := a.Choice()
	if c == nil {
		f := a.Fished()
		list = append(list, fmt.Sprintf("Nearly all of it was fished at %s, too narrow a range to name a best within.", values(a.Over, f.From, f.To, sys)))
	} else {
		list = append(list, hardlyFished(a, *c, sys)...)
		at := slices.IndexFunc(a.Points, func(p analytics.CurvePoint) bool { return p.At == c.At })
		if p := a.Points[at]; p.HasInterval {
			list = append(list, fmt.Sprintf("At %s: %s (95%% interval %s).", value(a.Over, p.At, sys), Rate(a.Outcome, p.Rate), Interval(a.Outcome, p.Low, p.High)))
		}
	}
	if a.Matters != nil {
		text := "Test that it makes no difference: p " + equals(*a.Matters)
		if a.Bends != nil {
			text += "; that a straight line would do: p " + equals(*a.Bends)
		}
		list = append(list, text+".")
	}
	return list
}

// hardlyFished says on which side the curve promises better than what is named, but rests on hardly any
// fishing.
func hardlyFished(a analytics.CurveAnswer, c analytics.Choice, sys units.System) []string {
	var sides []string
	if c.BetterBelow {
		sides = append(sides, "under "+value(a.Over, c.From, sys)+" you have hardly fished: "+howMuch(a.Outcome, c.Below)+" of "+howMuch(a.Outcome, a.Total.Exposure))
	}
	if c.BetterAbove {
		sides = append(sides, "over "+value(a.Over, c.To, sys)+" you have hardly fished: "+howMuch(a.Outcome, c.Above)+" of "+howMuch(a.Outcome, a.Total.Exposure))
	}
	return each(sides, func(side string) string { return Capital(side) + "." })
}

// howMuch is an exposure in short: "1.8 h", "12 hookups".
func howMuch(o journal.Outcome, exposed float64) string {
	if o.Exposure == "hours" {
		return FishedHours(exposed)
	}
	return Tenths(exposed) + " " + Against(o)
}

// values prints a range of a factor, or its one value.
func values(f journal.Factor, low, high float64, sys units.System) string {
	if low == high {
		return value(f, low, sys)
	}
	return span(value(f, low, sys), value(f, high, sys))
}

// curveBest names the value likeliest to be the best of those that were fished, and within which range
// that is likely.
func curveBest(a analytics.CurveAnswer, sys units.System) string {
	c := a.Choice()
	if c == nil {
		return ""
	}
	word := "Lowest"
	if a.Highest {
		word = "Highest"
	}
	return fmt.Sprintf("%s most likely at %s (%s): %s; with 95%% probability the best is at %s", word, value(a.Over, c.At, sys), Chance(c.Probability),
		Often(a.Outcome, c.Rate), values(a.Over, c.LikelyFrom, c.LikelyTo, sys))
}

// CurveNotes says what the reader of a curve must know, a sentence each.
func CurveNotes(a analytics.CurveAnswer) []string {
	list := worded(a.Notes, func(n analytics.Note) string {
		if n.Kind == analytics.NoteExplained {
			return "" // is the sentence
		}
		if n.Kind == analytics.NoteAsFair || n.Kind == analytics.NoteUntold {
			return notTold(a.Outcome, n)
		}
		return aboutCorrection(n, a.Outcome, "", "")
	})
	if len(a.Points) > 0 && len(a.Given) > 0 {
		list = append(list, "The curve is drawn at the average of what is held alike, weighted by "+Against(a.Outcome)+".")
	}
	return list
}

// mostRows are enough to see a curve's shape by, without wearing a thumb out.
const mostRows = 24

// SayCurve puts a curve into words and a table of its shape.
func SayCurve(a analytics.CurveAnswer, sys units.System) Said {
	s := Said{Title: a.Outcome.Title + " over " + strings.ToLower(a.Over.Title), Sentence: CurveSentence(a, sys), More: CurveBeside(a, sys), LeftOut: LeftOut(a.LeftOut), Notes: CurveNotes(a)}
	s.More = append(s.More, changedCurve(a, sys)...)
	if len(a.Points) > 0 {
		s.Tables = []table.Table{CurveTable(a, sys, mostRows)}
	}
	if s.Bet = SayCurveBet(a, sys); s.Bet != "" {
		s.BetHow = betHow(a.Bet.Prior, true)
	}
	if len(a.Rug) > 0 {
		s.InAll = InAll(a.Outcome, a.Total)
	} else {
		s.Remedy = remedy(a.LeftOut)
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
	c.Number("rate", rateTitle(a.Outcome), func(v float64) string { return RateFigure(a.Outcome, v) }, func(i int) *float64 { return &a.Points[i].Rate })
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
		from, to := i-every/2, i+(every+1)/2
		if i == first {
			from = 0
		}
		if i+every >= len(a.Points) {
			to = len(a.Points)
		}
		var sum *float64
		for _, of := range a.Best[max(0, from):min(to, len(a.Best))] {
			if of.Probability != nil {
				sum = new(*cmp.Or(sum, new(float64)) + *of.Probability)
			}
		}
		if sum == nil {
			return table.Cell{Text: None}
		}
		return table.Number(Chance(*sum), sum)
	})
	t := c.Make(at)
	t.OnPhone = []string{"", "rate", "interval"}
	t.Title = Measure(a.Outcome)
	return t
}

// aboutCorrection words the notes of like-for-like comparisons and curves; group names the
// group a note is about and the one it is compared with.
func aboutCorrection(n analytics.Note, o journal.Outcome, group, reference string) string {
	title := n.Factor.Title
	switch n.Kind {
	case analytics.NoteOneSession:
		if group == "" {
			return Plural(n.Count, "point of the curve has", "points of the curve have") + " no interval: a single session is behind each."
		}
		return fmt.Sprintf("%s or %s was fished in one session only, so its like-for-like ratio has no interval, and there is no verdict.", Capital(group), reference)
	}
	return map[analytics.NoteKind]string{
		analytics.NoteTooFewToCorrect: fmt.Sprintf("This rests on %s, too few to compare like for like or to draw a curve: that takes at least 3, and can be trusted from about 20.", Several(n.Count, "session")),
		analytics.NoteFewToCorrect:    fmt.Sprintf("%s few for a regression; its intervals are wider for it.", Several(n.Count, "session")+Verb(n.Count, " is", " are")),
		analytics.NoteNoneToCorrect:   fmt.Sprintf("%s or %s has no %s at all, so it has no like-for-like ratio.", Capital(group), reference, o.Events),
		analytics.NotePenalised:       fmt.Sprintf("One level has no %s at all; the regression stays finite as if half of one had happened (Firth), so take its ratio as rough.", o.Events),
		analytics.NoteGivenSame:       title + " was the same throughout, so holding it alike changes nothing.",
		analytics.NoteGivenRepeats:    fmt.Sprintf("Part of %s is already told by what is held alike before it, and is left out; that changes no comparison.", strings.ToLower(title)),
		analytics.NoteUnsettled:       "The regression found no stable answer; hold fewer factors alike, or use fewer filters.",
		analytics.NoteStraight:        fmt.Sprintf("It was fished at %d different values, or nearly always at one: too few for a curve, so it is a straight line (of the logarithm).", n.Count),
	}[n.Kind]
}

// names are those of the group that a note is about and of the reference.
func names(a analytics.RateAnswer, n analytics.Note, sys units.System) (group, reference string) {
	if n.Group < 0 || n.Group >= len(a.Groups) || a.Reference < 0 {
		return "", ""
	}
	s := sayer{a, sys}
	return s.name(a.Groups[n.Group]), s.name(a.Groups[a.Reference])
}
