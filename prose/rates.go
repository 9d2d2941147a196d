package prose

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Sentence answers the question in a sentence or two.
func Sentence(a analytics.RateAnswer, sys units.System) string {
	s := sayer{a, sys}
	switch {
	case len(a.Groups) == 0 && journal.Uncounted(a.LeftOut):
		return "Not recorded: nobody counted it" + s.filters() + ", so there is nothing to say."
	case len(a.Groups) == 0:
		return "The journal has nothing on this question" + s.filters() + " yet. Log or import some fishing first, or use fewer filters."
	case len(a.By) == 0:
		return s.whole(a.Groups[0], capital(a.Outcome.Title)+s.filters()) + "."
	case len(a.Groups) == 1:
		return s.whole(a.Groups[0], capital(s.name(a.Groups[0]))+s.filters()) + ". It is the only " + s.factors() + " fished, so there is nothing to compare it with."
	case a.Total.Events == 0:
		return fmt.Sprintf("No %s in %s%s, so can't tell one %s from another yet.", a.Outcome.Events, s.amount(a.Total), s.filters(), s.factors())
	}
	return s.comparisons()
}

// sayer words one answer.
type sayer struct {
	a   analytics.RateAnswer
	sys units.System
}

func (s sayer) name(g analytics.Group) string { return Levels(s.a.By, g.Level, s.sys) }

func (s sayer) factors() string {
	titles := make([]string, len(s.a.By))
	for i, by := range s.a.By {
		titles[i] = strings.ToLower(by.Factor.Title)
	}
	return strings.Join(titles, " and ")
}

func (s sayer) filters() string {
	if len(s.a.Where) == 0 {
		return ""
	}
	parts := make([]string, len(s.a.Where))
	for i, c := range s.a.Where {
		parts[i] = Condition(c, s.sys)
	}
	return " (" + strings.Join(parts, "; ") + ")"
}

// amount says how much was fished or tried.
func (s sayer) amount(g analytics.Group) string {
	return Figure(g.Exposure) + " " + s.a.Outcome.Exposure
}

func (s sayer) whole(g analytics.Group, what string) string {
	text := fmt.Sprintf("%s: %s", what, Rate(s.a.Outcome, g.Rate))
	if g.HasInterval {
		text += fmt.Sprintf(" (95%% interval %s)", Interval(s.a.Outcome, g.Low, g.High))
	}
	return text + fmt.Sprintf(", from %s %s in %s", Count(g.Events), s.a.Outcome.Events, s.amount(g))
}

// comparisons says what is settled, else what leans, else what is missing.
func (s sayer) comparisons() string {
	for _, v := range []stat.Verdict{stat.Differs, stat.Leans} {
		if list := s.judged(v); len(list) > 0 {
			return s.corrected(s.told(list, v))
		}
	}
	ref := s.name(s.a.Groups[s.a.Reference])
	if same := s.judged(stat.SameForPractice); len(same) == len(s.a.Groups)-1 {
		return s.corrected(fmt.Sprintf("No difference that matters%s: %s of every %s stay within 0.80 to 1.25 times those of %s.", s.filters(), s.a.Outcome.Events, s.factors(), ref))
	}
	text := fmt.Sprintf("Can't tell yet which %s has more %s%s: chance could explain what was seen.", s.factors(), s.a.Outcome.Events, s.filters())
	if g, ok := s.nearest(); ok {
		text += fmt.Sprintf(" %s against %s would take about %s with each.", capital(s.name(g)), ref, Hours(*g.Versus.HoursNeeded))
	}
	return s.corrected(text)
}

// corrected says first what a sentence is corrected for.
func (s sayer) corrected(text string) string {
	if len(s.a.Given) == 0 {
		return text
	}
	return "Corrected for " + givenTitles(s.a.Given) + ": " + lower(text)
}

// judged lists the groups of a verdict, the surest first.
func (s sayer) judged(v stat.Verdict) []analytics.Group {
	var list []analytics.Group
	for _, g := range s.a.Groups {
		if g.Versus != nil && g.Versus.Verdict == v {
			list = append(list, g)
		}
	}
	slices.SortStableFunc(list, func(a, b analytics.Group) int {
		switch {
		case *a.Versus.Q < *b.Versus.Q:
			return -1
		case *a.Versus.Q > *b.Versus.Q:
			return 1
		}
		return 0
	})
	return list
}

const mostNamed = 3

func (s sayer) told(list []analytics.Group, v stat.Verdict) string {
	ref := s.a.Groups[s.a.Reference]
	verb := "had"
	if v == stat.Leans {
		verb = "leans toward"
	}
	per := s.a.Outcome.Events + " per hour"
	switch {
	case s.a.Outcome.Measure == journal.ShareOf:
		per = "share of " + s.a.Outcome.Events
	case s.a.Outcome.Measure == journal.PerExposure:
		per = s.a.Outcome.Events + " " + s.a.Outcome.Unit()
	}
	var parts []string
	for i, g := range list {
		if i == mostNamed {
			parts = append(parts, fmt.Sprintf("and the table has %d more", len(list)-mostNamed))
			break
		}
		name := s.name(g)
		if i == 0 {
			parts = append(parts, fmt.Sprintf("%s %s %s the %s of %s", capital(name), verb, s.times(g), per, s.name(ref)))
		} else {
			parts = append(parts, fmt.Sprintf("%s %s", name, s.times(g)))
		}
	}
	text := strings.Join(parts, ", ") + s.filters() + "."
	if v == stat.Leans {
		text += " It is not settled."
	}
	if rest := len(s.a.Groups) - 1 - len(list); rest > 0 && v == stat.Differs {
		others := fmt.Sprintf("the other %d", rest)
		if rest == 1 {
			others = "the other one"
		}
		text += fmt.Sprintf(" Can't tell %s from %s yet.", others, s.name(ref))
	}
	return text
}

func (s sayer) times(g analytics.Group) string {
	if len(s.a.Given) > 0 {
		return correctedTimes(g)
	}
	return times(g.Versus)
}

func times(c *analytics.Comparison) string {
	switch {
	case c.Ratio == nil:
		return "many times (the other had none)"
	case c.High == nil:
		return fmt.Sprintf("%s times (at least %s)", Ratio(*c.Ratio), Ratio(*c.Low))
	}
	return fmt.Sprintf("%s times (%s–%s)", Ratio(*c.Ratio), Ratio(*c.Low), Ratio(*c.High))
}

// nearest returns the comparison that needs the fewest hours.
func (s sayer) nearest() (best analytics.Group, ok bool) {
	for _, g := range s.a.Groups {
		if g.Versus != nil && g.Versus.HoursNeeded != nil && (!ok || *g.Versus.HoursNeeded < *best.Versus.HoursNeeded) {
			best, ok = g, true
		}
	}
	return best, ok
}

// lower begins a sentence's words as after a colon.
func lower(s string) string {
	for i, r := range s {
		return strings.ToLower(string(r)) + s[i+len(string(r)):]
	}
	return s
}

func capital(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// Notes says what the reader of an answer must know, a sentence each.
func Notes(a analytics.RateAnswer, sys units.System) []string {
	var list []string
	for _, n := range a.Notes {
		if text := note(a, n, sys); text != "" {
			list = append(list, text)
		}
	}
	return list
}

func note(a analytics.RateAnswer, n analytics.Note, sys units.System) string {
	switch n.Kind {
	case analytics.NoteParadox:
		group, reference := names(a, n, sys)
		return paradox(a, n, group, reference)
	case analytics.NoteTooFew:
		return "Too few sessions to know how one differs from another, so the intervals allow for chance alone: take them as too narrow."
	case analytics.NoteFewSessions:
		if n.Count == 1 {
			return "Few sessions: one of the groups has fewer than 6, and its interval may be somewhat too narrow."
		}
		return fmt.Sprintf("Few sessions: %d of the groups have fewer than 6, and their intervals may be somewhat too narrow.", n.Count)
	case analytics.NoteSpread:
		return fmt.Sprintf("Sessions differ by more than chance; intervals are widened for it (up to %s times the variance).", Figure(n.Value))
	case analytics.NoteComparisons:
		return fmt.Sprintf("%d comparisons were made at once; q is p adjusted for that.", n.Count)
	case analytics.NoteSharedEvents:
		return "Where a tag was cut at a moment not noted, its time and events are shared between its lengths, so counts may not be whole."
	case analytics.NoteUntimedOnly:
		return Plural(n.Count, "stint is", "stints are") + " left out because the minutes lost to a tangle were not noted; the true figure is higher."
	case analytics.NoteAsFair, analytics.NoteUntold:
		return notTold(a.Outcome, n)
	case analytics.NoteUnplacedEvent:
		of := a.Outcome.Events
		if a.Outcome.Measure == journal.ShareOf && a.Outcome.Exposure != "loads" {
			of = a.Outcome.Exposure
		}
		text := fmt.Sprintf("%s noted for no fly in particular: %d. No group counts them", capital(of), n.Count)
		if a.Outcome.Measure != journal.ShareOf {
			text += ", so the true rates are higher"
		}
		return text + "."
	}
	group, reference := names(a, n, sys)
	return aboutCorrection(n, a.Outcome, group, reference)
}

// notTold says what was not told of stints that were used.
func notTold(o journal.Outcome, n analytics.Note) string {
	if n.Kind == analytics.NoteAsFair {
		return fmt.Sprintf("In %s nobody noted which fish were foul hooked: all count as fair.", Plural(n.Count, "stint", "stints"))
	}
	switch o.Key {
	case "twists":
		return Plural(n.Count, "tangle was", "tangles were") + " of a kind that nobody noted, and not counted as a twist: the true rate may be higher."
	case "junction-break":
		return Plural(n.Count, "break was", "breaks were") + " at a place that nobody noted, and counted as not at the junction: the true share may be higher."
	}
	return Plural(n.Count, "fish was", "fish were") + " not noted as fair or foul, and counted as fair."
}

// Plural is a count with its noun: 1 stint, 2 stints.
func Plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// LeftOut says what an answer could not use, the most first.
func LeftOut(left map[string]int) []string {
	var reasons []string
	for r := range left {
		reasons = append(reasons, r)
	}
	slices.SortFunc(reasons, func(x, y string) int {
		if d := left[y] - left[x]; d != 0 {
			return d
		}
		return strings.Compare(x, y)
	})
	for i, r := range reasons {
		if rest, ok := strings.CutPrefix(r, "stints "); ok {
			reasons[i] = Plural(left[r], "stint", "stints") + " " + strings.Replace(rest, "with no count kept of", "that did not count", 1)
			continue
		}
		reasons[i] = fmt.Sprintf("%d %s", left[r], r)
	}
	return reasons
}
