package prose

import (
	"cmp"
	"fmt"
	"maps"
	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"slices"
	"strings"
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
		return s.whole(a.Groups[0], Capital(a.Outcome.Title)+s.filters()) + "."
	case len(a.Groups) == 1:
		return s.whole(a.Groups[0], Capital(s.name(a.Groups[0]))+s.filters()) + ". It is the only " + s.factors() + " fished, so there is nothing to compare it with."
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

func (s sayer) factors() string { return strings.Join(byTitles(s.a.By), " and ") }

func (s sayer) filters() string { return within(s.a.Where, s.sys) }

// within says the filters of an answer, in parentheses after a space.
func within(where []journal.Condition, sys units.System) string {
	if len(where) == 0 {
		return ""
	}
	return " (" + strings.Join(each(where, func(c journal.Condition) string { return Condition(c, sys) }), "; ") + ")"
}

// amount says how much was fished or tried.
func (s sayer) amount(g analytics.Group) string {
	return fished(g.Exposure) + " " + s.a.Outcome.Exposure
}

func (s sayer) whole(g analytics.Group, what string) string {
	if g.Events == 0 && g.HasInterval {
		return what + ": " + noneIn(s.a.Outcome, g.Exposure, g.High)
	}
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
	text := fmt.Sprintf("Can't tell yet which %s has more %s%s: what was seen would fit no difference too.", s.factors(), s.a.Outcome.Events, s.filters())
	if g, ok := s.nearest(); ok {
		text += fmt.Sprintf(" %s more would tell %s from %s.", Capital(AboutHours(*g.Versus.MoreHours)), s.name(g), ref)
	}
	return s.corrected(text)
}

// corrected says first what a sentence is corrected for.
func (s sayer) corrected(text string) string {
	if len(s.a.Given) == 0 {
		return text
	}
	return "Corrected for " + CorrectedFor(s.a.Given) + ": " + Lower(text)
}

// Apart reports whether any group differs from the reference, or leans away from it.
func Apart(a analytics.RateAnswer) bool {
	s := sayer{a: a}
	return len(s.judged(stat.Differs))+len(s.judged(stat.Leans)) > 0
}

// judged lists the groups of a verdict, the surest first.
func (s sayer) judged(v stat.Verdict) []analytics.Group {
	var list []analytics.Group
	for _, g := range s.a.Groups {
		if g.Versus != nil && g.Versus.Verdict == v {
			list = append(list, g)
		}
	}
	slices.SortStableFunc(list, func(a, b analytics.Group) int { return cmp.Compare(*a.Versus.Q, *b.Versus.Q) })
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
			parts = append(parts, fmt.Sprintf("%s %s %s the %s of %s", Capital(name), verb, s.times(g), per, s.name(ref)))
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
	}
	return fmt.Sprintf("%s times (%s)", Ratio(*c.Ratio), ratioSpan(c.Low, c.High))
}

// nearest returns the open comparison that needs the fewest hours more.
func (s sayer) nearest() (best analytics.Group, ok bool) {
	for _, g := range s.a.Groups {
		if g.Versus != nil && g.Versus.MoreHours != nil && *g.Versus.MoreHours > 0 && (!ok || *g.Versus.MoreHours < *best.Versus.MoreHours) {
			best, ok = g, true
		}
	}
	return best, ok
}

// Notes says what the reader of an answer must know, a sentence each.
func Notes(a analytics.RateAnswer, sys units.System) []string {
	return worded(a.Notes, func(n analytics.Note) string { return note(a, n, sys) })
}

func note(a analytics.RateAnswer, n analytics.Note, sys units.System) string {
	switch n.Kind {
	case analytics.NoteReversal:
		group, reference := names(a, n, sys)
		return paradox(a, n, group, reference)
	case analytics.NoteTooFew:
		return "Too few sessions to know how one differs from another, so the intervals allow only for how counts scatter: take them as too narrow."
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
		text := fmt.Sprintf("%s noted for no fly in particular: %d. No group counts them", Capital(of), n.Count)
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
		return fmt.Sprintf("In %s nobody noted which fish were foul hooked: all count as fair.", Several(n.Count, "stint"))
	}
	switch o.Key {
	case "twists":
		return Plural(n.Count, "tangle was", "tangles were") + " of a kind that nobody noted, and not counted as a twist: the true rate may be higher."
	case "junction-break":
		return Plural(n.Count, "break was", "breaks were") + " at a place that nobody noted, and counted as not at the junction: the true share may be higher."
	}
	return Plural(n.Count, "fish was", "fish were") + " not noted as fair or foul, and counted as fair."
}

// LeftOut says what an answer could not use, the most first.
func LeftOut(left map[string]int) []string {
	reasons := slices.SortedFunc(maps.Keys(left), func(x, y string) int { return cmp.Or(left[y]-left[x], cmp.Compare(x, y)) })
	for i, r := range reasons {
		if rest, ok := strings.CutPrefix(r, "stints "); ok {
			reasons[i] = Several(left[r], "stint") + " " + strings.Replace(rest, "with no count kept of", "that did not count", 1)
			continue
		}
		reasons[i] = fmt.Sprintf("%d %s", left[r], r)
	}
	return reasons
}

// Groups with a smaller share of the exposure are not named as the best: the
// lowest rate of many is soon that of one that was hardly tried.
const leastTried = 0.05

// Best says which group did best so far and whether that is settled against the
// one that others are compared with; "" where there is nothing to choose from.
func Best(a analytics.RateAnswer, sys units.System) string {
	if len(a.By) == 0 || a.Reference < 0 || a.Total.Events == 0 {
		return ""
	}
	more := a.Outcome.Key == "hookups" || a.Outcome.Key == "landed"
	best, tried := -1, 0
	for i, g := range a.Groups {
		if !g.HasInterval || g.Exposure < leastTried*a.Total.Exposure {
			continue
		}
		tried++
		if best < 0 || more && g.Rate > a.Groups[best].Rate || !more && g.Rate < a.Groups[best].Rate {
			best = i
		}
	}
	if tried < 2 {
		return ""
	}
	s := sayer{a, sys}
	g, word := a.Groups[best], "Least"
	if more {
		word = "Most"
	}
	text := fmt.Sprintf("%s so far with %s: %s (95%% interval %s), in %s. ", word, s.name(g), Rate(a.Outcome, g.Rate), Interval(a.Outcome, g.Low, g.High), s.amount(g))
	return text + s.settled(best) + fmt.Sprintf(" The best of %d is partly luck.", tried)
}

// settled says how far a group's lead over the reference is from certain.
func (s sayer) settled(best int) string {
	ref := s.name(s.a.Groups[s.a.Reference])
	if best == s.a.Reference {
		return "The others are compared with it; see above which of them differ."
	}
	c := s.a.Groups[best].Versus
	need := ""
	if c.MoreHours != nil {
		need = fmt.Sprintf("; %s more would tell", AboutHours(*c.MoreHours))
	}
	switch c.Verdict {
	case stat.Differs:
		return fmt.Sprintf("It is settled that it differs from %s.", ref)
	case stat.Leans:
		return fmt.Sprintf("Against %s it only leans that way%s.", ref, need)
	case stat.SameForPractice:
		return fmt.Sprintf("No difference that matters from %s.", ref)
	}
	return fmt.Sprintf("Can't tell it from %s yet%s.", ref, need)
}
