package prose

import (
	"fmt"
	"math"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/answer"
	"rigtally/analytics/life"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/survive"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
)

// LifeSentence answers how long tags last, in a few sentences.
func LifeSentence(a life.Answer, sys units.System) string {
	filters := within(a.Where, sys)
	if len(a.Groups) == 0 {
		return "The journal has no tag to follow" + filters + " yet. Log some fishing with a dropper on a tag first, or use fewer filters."
	}
	ties, breaks := 0, 0
	for _, g := range a.Groups {
		ties += g.Ties
		breaks += g.Breaks
	}
	over := strings.ToLower(a.By.Factor.Title)
	if breaks == 0 {
		return fmt.Sprintf("None of %s broke at its junction or tag%s, so can't tell one %s from another yet.", Several(ties, "tag"), filters, over)
	}
	text := fmt.Sprintf("%d of %s broke at the junction or in the tag%s. ", breaks, Several(ties, "tag"), filters)
	reference := a.Groups[a.Reference]
	text = strings.TrimSpace(text + lifeKept(a, reference, sys))
	p, by := lifeP(a)
	switch {
	case p == nil:
		return text
	case *p >= settled:
		return text + fmt.Sprintf(" Can’t tell yet whether %s makes a difference to how long they last (log-rank p %s%s).", over, equals(*p), by)
	}
	text += fmt.Sprintf(" %s makes a difference to how long they last (log-rank p %s%s)", Capital(over), equals(*p), by)
	var worse, better []string
	for _, g := range a.Groups {
		switch {
		case g.Verdict != stat.Differs:
		case g.Observed*reference.Expected > g.Expected*reference.Observed:
			worse = append(worse, Level(a.By.Factor, g.Level, sys))
		default:
			better = append(better, Level(a.By.Factor, g.Level, sys))
		}
	}
	name := Level(a.By.Factor, reference.Level, sys)
	if len(worse) > 0 {
		text += fmt.Sprintf(": %s shorter than %s", lasts(worse), name)
	}
	if len(better) > 0 {
		text += fmt.Sprintf(": %s longer than %s", lasts(better), name)
	}
	if len(worse)+len(better) == 0 && len(a.Groups) > 2 {
		text += ", though it is not settled yet which differs from " + name
	}
	return text + "."
}

func lasts(names []string) string {
	if len(names) == 1 {
		return names[0] + " lasts"
	}
	return Listed(names) + " last"
}

// lifeP is the larger p of the two tests, and which that is.
func lifeP(a life.Answer) (p *float64, by string) {
	if a.Test == nil {
		return nil, ""
	}
	cautious := a.Test.Cautious()
	if a.Test.ClusterP != nil && cautious == *a.Test.ClusterP {
		by = " by session"
	}
	return &cautious, by
}

// lifeKept says how many of a group's ties last to the last mark at which some are followed.
func lifeKept(a life.Answer, g life.Group, sys units.System) string {
	at := 0.0
	for _, t := range a.Marks {
		if g.Survival.AtRisk(t) >= 10 {
			at = t
		}
	}
	m := g.Mark(at)
	if at == 0 || !m.Known {
		return ""
	}
	name := Level(a.By.Factor, g.Level, sys)
	if a.By.Factor.Key != "junction" && a.By.Factor.Key != "hook-size" {
		name = strings.ToLower(a.By.Factor.Title) + " " + name
	}
	text := fmt.Sprintf("Of those with %s, %s last longer than %s", name, Percent(m.Share), LifeTime(a.In, at))
	if m.Low != nil && m.High != nil {
		text += fmt.Sprintf(" (95%% interval %s)", shareSpan(*m.Low, *m.High))
	}
	return text + "."
}

// LifeTime prints a time of a life with its unit.
func LifeTime(in string, t float64) string {
	if in == life.Loads && t == 1 {
		return "1 pull"
	}
	if in == life.Loads {
		return Count(tenth(t)) + " pulls"
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", t), ".0") + " h"
}

// lifeMedian is the time by which half of a group broke.
func lifeMedian(a life.Answer, g life.Group) string {
	if g.Median == nil {
		return "not reached"
	}
	end := "?"
	if g.High != nil {
		end = LifeTime(a.In, *g.High)
	}
	if g.Low != nil {
		return fmt.Sprintf("%s (%s–%s)", LifeTime(a.In, *g.Median), strings.Fields(LifeTime(a.In, *g.Low))[0], end)
	}
	return LifeTime(a.In, *g.Median)
}

// SayLife puts lives into words and two tables.
func SayLife(a life.Answer, sys units.System) Said {
	s := Said{Title: "How long tags last, by " + strings.ToLower(a.By.Factor.Title), Sentence: LifeSentence(a, sys), LeftOut: LeftOut(a.LeftOut), Notes: LifeNotes(a)}
	if len(a.Groups) > 0 {
		s.Tables = []table.Table{lifeTable(a, sys), lifeRisk(a, sys)}
	}
	if text := LifeTest(a); text != "" {
		s.After = []string{text}
	}
	return s
}

// lifeTable lays the lives out for people: a row for each group.
func lifeTable(a life.Answer, sys units.System) table.Table {
	type group = life.Group
	var c table.Columns[group]
	compared := a.Test != nil
	levelColumns(&c, []journal.By{a.By}, func(g group) []journal.Level { return []journal.Level{g.Level} }, sys)
	c.Count("ties", "Tags tied", func(g group) int { return g.Ties })
	c.Count("breaks", "Broke", func(g group) int { return g.Breaks })
	if compared {
		c.Said("expected", "If all were alike", func(g group) string { return fmt.Sprintf("%.1f", g.Expected) }).Spare = 3
	}
	for _, t := range lifeLate(a) {
		c.Said("whole", "Still whole after "+LifeTime(a.In, t), func(g group) string { return lifeMark(g.Mark(t)) })
	}
	c.Said("median", "Half broken after", func(g group) string { return lifeMedian(a, g) })
	if compared {
		reference := a.Groups[a.Reference].Level
		c.Said("q", "q", func(g group) string {
			switch {
			case g.Level == reference:
				return ""
			case g.Q == nil:
				return table.Unknown
			}
			return PValue(*g.Q)
		}).Spare = 2
		c.Said("verdict", "Against "+Level(a.By.Factor, reference, sys), func(g group) string {
			if g.Level == reference {
				return "reference"
			}
			return string(g.Verdict)
		})
	}
	unit := "Hours"
	if a.In == life.Loads {
		unit = "Pulls"
	}
	c.Count("retied", "Re-tied whole", func(g group) int { return g.Retied }).Spare = 5
	c.Count("off", "Taken off whole", func(g group) int { return g.Off }).Spare = 6
	c.Count("sessions", "Sessions", func(g group) int { return g.Sessions }).Spare = 7
	c.Said("total", unit, func(g group) string { return Tenths(g.Total) }).Spare = 4
	return c.Make(a.Groups)
}

// LifeSteps lays out, for programs, each time at which something broke.
func LifeSteps(a life.Answer) table.Table {
	type step struct {
		group life.Group
		at    survive.Step
	}
	var steps []step
	for _, g := range a.Groups {
		for _, at := range g.Survival.Steps {
			steps = append(steps, step{g, at})
		}
	}
	var c table.Columns[step]
	c.Plain(a.By.Factor.Key, func(s step) string { return plainLevel(s.group.Level) })
	c.Value(a.In, func(s step) *float64 { return &s.at.Time })
	c.Count("at_risk", "", func(s step) int { return s.at.AtRisk })
	c.Count("breaks", "", func(s step) int { return s.at.Ended })
	c.Values(func(s step) []*float64 {
		at, known := s.at, !math.IsNaN(s.at.SE)
		return []*float64{&at.Share, answer.If(known, at.SE), answer.If(known, at.ClusterSE), answer.If(at.HasIntervals, at.Low), answer.If(at.HasIntervals, at.High)}
	}, "share", "se_greenwood", "se_by_session", "low", "high")
	return c.Make(steps)
}

// lifeLate are two marks at which to tell what is left: about a third of the way, and two thirds.
func lifeLate(a life.Answer) []float64 {
	n := len(a.Marks)
	if n < 3 {
		return nil
	}
	return []float64{a.Marks[max(1, n/3)], a.Marks[max(2, 2*n/3)]}
}

func lifeMark(m life.Mark) string {
	if !m.Known {
		return "?"
	}
	text := Percent(m.Share)
	if m.Share == 1 {
		return text + ", none broke"
	}
	if m.Low != nil && m.High != nil {
		text += " (" + shareSpan(*m.Low, *m.High) + ")"
	}
	return text
}

// LifeDetail is what a group is at a time, for pointing at it.
func LifeDetail(a life.Answer, g life.Group, t float64) string {
	m := g.Mark(t)
	if !m.Known {
		return "none followed that long"
	}
	return lifeMark(m) + ", " + Several(m.AtRisk, "tag") + " followed"
}

// lifeRisk lays out how many ties were still followed at each mark.
func lifeRisk(a life.Answer, sys units.System) table.Table {
	var c table.Columns[life.Group]
	c.Words(a.By.Factor.Key, "Still followed after", func(g life.Group) string { return Level(a.By.Factor, g.Level, sys) })
	for _, t := range a.Marks {
		c.Count("at_risk", LifeTime(a.In, t), func(g life.Group) int { return g.Mark(t).AtRisk })
	}
	return c.Make(a.Groups)
}

// LifeTest says both log-rank tests in full.
func LifeTest(a life.Answer) string {
	t := a.Test
	if t == nil {
		return ""
	}
	text := fmt.Sprintf("Log-rank: χ² = %.2f on %s, p %s", t.ChiSquared, Plural(t.DF, "degree of freedom", "degrees of freedom"), equals(t.P))
	if t.ClusterP == nil || t.ClusterChiSquared == nil {
		return text + "."
	}
	return text + fmt.Sprintf("; by session (%d of them): χ² = %.2f, p %s.", t.Clusters, *t.ClusterChiSquared, equals(*t.ClusterP))
}

// LifeNotes says what the reader of lives must know, a sentence each.
func LifeNotes(a life.Answer) []string {
	return worded(a.Notes, func(n life.Note) string {
		switch n.Kind {
		case life.NoteSpread:
			return fmt.Sprintf("%s began or ended at a moment that was not noted: the re-ties and breaks of such a stint are spread evenly over it.", Capital(Several(n.Count, "tag")))
		case life.NoteFewBreaks:
			return fmt.Sprintf("%s fewer than five breaks: little is known about how long they last.", Have(n.Count, "group"))
		case life.NoteByChance:
			return "The plain log-rank test finds a difference, the one by session does not: sessions differ from each other by more than chance, and that may be all it shows."
		case life.NotePlainOnly:
			return "Too few sessions to test by session; the plain test treats tags of one session as independent, which they are not."
		}
		return ""
	})
}

// lifeMore says how much more fishing would settle which of two lasts longer, after so much and a two-sided p.
func lifeMore(a life.Answer, p *float64, total float64) string {
	if p == nil {
		return ""
	}
	more := analytics.HoursToSettle(total, 1-*p/2)
	if a.In == life.Loads {
		return moreOf(more, "pulls by fish and snags")
	}
	return moreHours(more)
}

// LifeCard is the card of how long tags last: what lasts longest; false where nothing can be compared.
func LifeCard(a life.Answer, sys units.System) (c Card, ok bool) {
	rate := func(g life.Group) float64 { return g.Observed / g.Expected }
	best, other := -1, -1
	for i, g := range a.Groups {
		switch {
		case !(g.Expected > 0):
		case best < 0 || rate(g) < rate(a.Groups[best]):
			best = i
		}
	}
	if best < 0 || len(a.Groups) < 2 {
		return c, false
	}
	if other = a.Reference; best == a.Reference {
		other = -1
		for i, g := range a.Groups {
			if i != best && g.Expected > 0 && (other < 0 || rate(g) < rate(a.Groups[other])) {
				other = i
			}
		}
	}
	if other < 0 {
		return c, false
	}
	option, against := a.Groups[best], a.Groups[other]
	name := func(g life.Group) string { return Level(a.By.Factor, g.Level, sys) }
	c = Card{About: "Lasts longest", Choice: Capital(name(option)), Like: "as fished", Sure: Open, Chance: "Too few broke to tell the two apart."}
	compared := option
	if best == a.Reference {
		compared = against
	}
	if compared.Verdict == stat.Differs {
		c.Sure, c.Chance = Settled, "Lasts longer than "+name(against)+"."
	} else {
		c.Choice += " or " + name(against)
		c.Next = lifeMore(a, compared.P, option.Total+against.Total)
	}
	one := func(g life.Group) string { return fmt.Sprintf("%d of %s broke", g.Breaks, Several(g.Ties, "tag")) }
	c.Says = fmt.Sprintf("%s; with %s, %d of %d.", Capital(one(option)), name(against), against.Breaks, against.Ties)
	return c, true
}
