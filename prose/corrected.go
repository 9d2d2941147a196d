package prose

import (
	"fmt"
	"strings"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
)

// givenTitles names what an answer is corrected for: "tag length, bulk and angler".
func givenTitles(givens []analytics.Given) string {
	titles := make([]string, len(givens))
	for i, g := range givens {
		titles[i] = strings.ToLower(g.Factor.Title)
	}
	return listed(titles)
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
	case analytics.NoteTooFewToCorrect:
		return fmt.Sprintf("This rests on %s, too few to correct for anything or to draw a curve: that takes at least 3, and can be trusted from about 20.", sessions(n.Count))
	case analytics.NoteFewToCorrect:
		return fmt.Sprintf("%s are few for a regression; its intervals are wider for it.", sessions(n.Count))
	case analytics.NoteOneSession:
		if group == "" {
			return plural(n.Count, "point of the curve has", "points of the curve have") + " no interval: a single session is behind each."
		}
		return fmt.Sprintf("%s or %s was fished in one session only, so its corrected ratio has no interval.", capital(group), reference)
	case analytics.NoteExplained:
		return fmt.Sprintf("%s has no corrected ratio: it was never fished where the corrections are the same as for %s, so there is nothing to compare.", capital(group), reference)
	case analytics.NoteNoneToCorrect:
		return fmt.Sprintf("%s or %s has no %s at all, so it has no corrected ratio.", capital(group), reference, o.Events)
	case analytics.NotePenalised:
		return fmt.Sprintf("One level has no %s at all; the regression stays finite as if half of one had happened (Firth), so take its ratio as rough.", o.Events)
	case analytics.NoteGivenSame:
		return title + " was the same throughout, so correcting for it changes nothing."
	case analytics.NoteGivenRepeats:
		return fmt.Sprintf("Part of %s is already covered by the corrections before it, and is left out; that changes no comparison.", strings.ToLower(title))
	case analytics.NoteUnsettled:
		return "The regression found no stable answer; correct for fewer factors, or use fewer filters."
	case analytics.NoteStraight:
		return fmt.Sprintf("It was fished at %d different values, or nearly always at one: too few for a curve, so it is a straight line (of the logarithm).", n.Count)
	}
	return ""
}

// paradox says that plain and corrected disagree.
func paradox(a analytics.RateAnswer, n analytics.Note, group, reference string) string {
	g := a.Groups[n.Group]
	plain, corrected := *g.Versus.Ratio, *g.Corrected.Ratio
	how := "which is far from it"
	if (plain > 1) != (corrected > 1) {
		how = "the other way round"
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
