package prose

import (
	"fmt"
	"io"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/life"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
)

// LifeSentence answers how long tags last, in a few sentences.
func LifeSentence(a life.Answer, sys units.System) string {
	filters := sayer{analytics.RateAnswer{Where: a.Where}, sys}.filters()
	if len(a.Groups) == 0 {
		return "The journal holds no tag that could be followed" + filters + " yet. Log some fishing with a dropper on a tag first, or ask with fewer filters."
	}
	ties, breaks := 0, 0
	for _, g := range a.Groups {
		ties += g.Ties
		breaks += g.Breaks
	}
	over := strings.ToLower(a.By.Factor.Title)
	if breaks == 0 {
		return fmt.Sprintf("None of %s broke at its junction or tag%s: too good to tell one %s from another.", plural(ties, "tag", "tags"), filters, over)
	}
	text := fmt.Sprintf("%d of %s broke at the junction or in the tag%s. ", breaks, plural(ties, "tag", "tags"), filters)
	reference := a.Groups[a.Reference]
	text = strings.TrimSpace(text + lifeKept(a, reference, sys))
	p, by := lifeP(a)
	switch {
	case p == nil:
		return text
	case *p >= settled:
		return text + fmt.Sprintf(" It can’t be told yet whether %s makes a difference to how long they last (log-rank p %s%s).", over, equals(*p), by)
	}
	text += fmt.Sprintf(" %s makes a difference to how long they last (log-rank p %s%s)", capital(over), equals(*p), by)
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
		text += ", though none can be told from " + name + " for sure yet"
	}
	return text + "."
}

func lasts(names []string) string {
	if len(names) == 1 {
		return names[0] + " lasts"
	}
	return listed(names) + " last"
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
	text := fmt.Sprintf("Of those with %s, %s last longer than %s", name, percent(m.Share), LifeTime(a.In, at))
	if m.Low != nil && m.High != nil {
		text += fmt.Sprintf(" (95%% interval %s)", strings.TrimSuffix(percent(*m.Low), "%")+"–"+percent(*m.High))
	}
	return text + "."
}

// LifeTime prints a time of a life with its unit.
func LifeTime(in string, t float64) string {
	if in == life.Loads {
		if t == 1 {
			return "1 load"
		}
		return Count(tenth(t)) + " loads"
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

// LifeTable lays the lives out for people: a row for each group.
func LifeTable(a life.Answer, sys units.System) (head []string, rows [][]string) {
	unit := "Hours"
	if a.In == life.Loads {
		unit = "Loads"
	}
	late := lifeLate(a)
	compared := a.Test != nil
	head = []string{a.By.Factor.Title, "Tags tied", "Broke"}
	if compared {
		head = append(head, "If all were alike")
	}
	for _, t := range late {
		head = append(head, "Still whole after "+LifeTime(a.In, t))
	}
	head = append(head, "Half broken after")
	if compared {
		head = append(head, "q", "Against "+Level(a.By.Factor, a.Groups[a.Reference].Level, sys))
	}
	head = append(head, "Re-tied whole", "Taken off whole", "Sessions", unit)
	for i, g := range a.Groups {
		row := []string{Level(a.By.Factor, g.Level, sys), fmt.Sprint(g.Ties), fmt.Sprint(g.Breaks)}
		if compared {
			row = append(row, fmt.Sprintf("%.1f", g.Expected))
		}
		for _, t := range late {
			row = append(row, lifeMark(g.Mark(t)))
		}
		row = append(row, lifeMedian(a, g))
		if compared {
			q, verdict := "", "reference"
			if i != a.Reference {
				q, verdict = "?", string(g.Verdict)
				if g.Q != nil {
					q = PValue(*g.Q)
				}
			}
			row = append(row, q, verdict)
		}
		rows = append(rows, append(row, fmt.Sprint(g.Retied), fmt.Sprint(g.Off), fmt.Sprint(g.Sessions), exposure(tenth(g.Total))))
	}
	return head, rows
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
	text := percent(m.Share)
	if m.Share == 1 {
		return text + ", none broke"
	}
	if m.Low != nil && m.High != nil {
		text += " (" + strings.TrimSuffix(percent(*m.Low), "%") + "–" + percent(*m.High) + ")"
	}
	return text
}

// LifeDetail is what a group is at a time, for pointing at it.
func LifeDetail(a life.Answer, g life.Group, t float64) string {
	m := g.Mark(t)
	if !m.Known {
		return "none followed so long"
	}
	return lifeMark(m) + ", " + plural(m.AtRisk, "tag", "tags") + " followed"
}

// LifeRisk lays out how many ties were still followed at each mark.
func LifeRisk(a life.Answer, sys units.System) (head []string, rows [][]string) {
	head = []string{"Still followed after"}
	for _, t := range a.Marks {
		head = append(head, LifeTime(a.In, t))
	}
	for _, g := range a.Groups {
		row := []string{Level(a.By.Factor, g.Level, sys)}
		for _, t := range a.Marks {
			row = append(row, fmt.Sprint(g.Mark(t).AtRisk))
		}
		rows = append(rows, row)
	}
	return head, rows
}

// LifeTest says both log-rank tests in full.
func LifeTest(a life.Answer) string {
	t := a.Test
	if t == nil {
		return ""
	}
	text := fmt.Sprintf("Log-rank: χ² = %.2f on %s, p %s", t.ChiSquared, plural(t.DF, "degree of freedom", "degrees of freedom"), equals(t.P))
	if t.ClusterP == nil || t.ClusterChiSquared == nil {
		return text + "."
	}
	return text + fmt.Sprintf("; by session (%d of them): χ² = %.2f, p %s.", t.Clusters, *t.ClusterChiSquared, equals(*t.ClusterP))
}

// LifeNotes says what the reader of lives must know, a sentence each.
func LifeNotes(a life.Answer) []string {
	var list []string
	for _, n := range a.Notes {
		switch n.Kind {
		case life.NoteSpread:
			list = append(list, fmt.Sprintf("%s began or ended at a moment that was not noted: the re-ties and breaks of such a stint are spread evenly over it.", capital(plural(n.Count, "tag", "tags"))))
		case life.NoteFewBreaks:
			list = append(list, fmt.Sprintf("%s fewer than five breaks: little is known of what they last.", have(n.Count, "group")))
		case life.NoteByChance:
			list = append(list, "The plain log-rank test finds a difference, the one by session does not: sessions differ from each other by more than chance, and that may be all there is.")
		case life.NotePlainOnly:
			list = append(list, "There are too few sessions to test by session; the plain test takes tags of one session as independent, which they are not.")
		}
	}
	return list
}

// LifeText writes lives for a terminal.
func LifeText(w io.Writer, a life.Answer, sys units.System) error {
	var b strings.Builder
	b.WriteString(LifeSentence(a, sys) + "\n")
	if len(a.Groups) > 0 {
		b.WriteString("\n")
		head, rows := LifeTable(a, sys)
		writeTable(&b, head, rows, 1)
		b.WriteString("\n")
		head, rows = LifeRisk(a, sys)
		writeTable(&b, head, rows, 1)
		b.WriteString("\n")
	}
	if text := LifeTest(a); text != "" {
		b.WriteString(text + "\n")
	}
	if left := LeftOut(analytics.RateAnswer{LeftOut: a.LeftOut}); len(left) > 0 {
		b.WriteString("Left out: " + strings.Join(left, "; ") + ".\n")
	}
	for _, n := range LifeNotes(a) {
		b.WriteString(n + "\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}
