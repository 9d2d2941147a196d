package prose

import (
	"cmp"
	"fmt"
	"maps"
	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/gauge"
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
		return nothing(a.LeftOut, s.filters())
	case len(a.By) == 0:
		return s.whole(a.Groups[0], Capital(a.Outcome.Title)+s.filters()) + "."
	case len(a.Groups) == 1:
		return s.whole(a.Groups[0], Capital(s.name(a.Groups[0]))+s.filters()) + ". It is the only " + s.factors() + " fished, so there is nothing to compare it with."
	case a.Total.Events == 0:
		return fmt.Sprintf("No %s in %s%s, so can't tell one %s from another yet.", a.Outcome.Events, s.amount(a.Total), s.filters(), s.factors())
	}
	return s.comparisons()
}

// nothing says that an answer has nothing to go by, and why as far as that is known; filters are its own.
func nothing(leftOut map[string]int, filters string) string {
	if text := ungauged(leftOut, filters); text != "" {
		return text
	}
	return "The journal has nothing on this question" + filters + " yet. Log or import some fishing first, or use fewer filters."
}

// ungauged says that no session of some took from a gauge what is asked by; "" where that is not why stints were left out.
func ungauged(leftOut map[string]int, of string) string {
	f, ok := journal.UntoldByGauge(leftOut)
	if !ok {
		return ""
	}
	text := "No session" + of + " has a reading of a gauge that tells " + f.Gauge + "."
	if f.Quantity == journal.Percent {
		text += fmt.Sprintf(" What is usual takes daily means of %d years.", gauge.LeastYears)
	}
	return text
}

// remedy says what to do where nothing is answered for want of a gauge, else "".
func remedy(leftOut map[string]int) string {
	if _, ok := journal.UntoldByGauge(leftOut); !ok {
		return ""
	}
	return "Link a gauge to the water, if it has none, and fill in past sessions."
}

// sayer words one answer.
type sayer struct {
	a   analytics.RateAnswer
	sys units.System
}

// name is a group's within a sentence: "blood", "blood (hackled)".
func (s sayer) name(g analytics.Group) string {
	if len(g.Level) == 2 {
		return Level(s.a.By[0].Factor, g.Level[0], s.sys) + " (" + Level(s.a.By[1].Factor, g.Level[1], s.sys) + ")"
	}
	return Levels(s.a.By, g.Level, s.sys)
}

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
	return fished(g.Exposure) + " " + Against(s.a.Outcome)
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

// comparisons says what is settled like for like, else what leans, else what is missing.
func (s sayer) comparisons() string {
	for _, v := range []stat.Verdict{stat.Differs, stat.Leans} {
		if list := s.judged(v); len(list) > 0 {
			return s.alike(s.told(list, v))
		}
	}
	if s.unjudged() == len(s.a.Groups)-1 {
		return s.noneAlike()
	}
	ref := s.name(s.a.Groups[s.a.Reference])
	if same := s.judged(stat.SameForPractice); len(same) == len(s.a.Groups)-1 {
		return s.alike(fmt.Sprintf("no difference that matters%s: %s of every %s stay within 0.80 to 1.25 times those of %s.", s.filters(), s.a.Outcome.Events, s.factors(), ref))
	}
	text := fmt.Sprintf("can't tell yet which %s has more %s%s: what was seen would fit no difference too.", s.factors(), s.a.Outcome.Events, s.filters())
	if g, ok := s.nearest(); ok {
		text += fmt.Sprintf(" %s more would tell %s from %s.", Capital(AboutHours(*g.Versus.MoreHours)), s.name(g), ref)
	}
	return s.alike(text)
}

// judged lists the groups of a verdict, the surest first.
func (s sayer) judged(v stat.Verdict) []analytics.Group {
	var list []analytics.Group
	for _, g := range s.a.Groups {
		if g.Versus != nil && g.Versus.Verdict == v && (v == stat.CannotTell || g.Corrected != nil) {
			list = append(list, g)
		}
	}
	slices.SortStableFunc(list, func(a, b analytics.Group) int { return cmp.Compare(*a.Versus.Q, *b.Versus.Q) })
	return list
}

const mostNamed = 3

// told says the rates of groups like for like: that of the reference as fished, times each ratio.
func (s sayer) told(list []analytics.Group, v stat.Verdict) string {
	ref := s.a.Groups[s.a.Reference]
	named := list[:min(len(list), mostNamed)]
	parts, where := s.counted(named, func(g analytics.Group) string {
		rate, _ := s.likeForLike(g)
		if s.name(g) == s.name(named[0]) {
			return Often(s.a.Outcome, rate)
		}
		return sameOften(s.a.Outcome, rate)
	}), fmt.Sprintf(", where %s has %s", s.name(ref), sameOften(s.a.Outcome, ref.Rate))
	if slices.ContainsFunc(named, func(g analytics.Group) bool { _, ok := s.likeForLike(g); return !ok }) {
		parts, where = s.counted(named, func(g analytics.Group) string { return Ratio(*g.Corrected.Ratio) + " times" }), fmt.Sprintf(" the %s of %s", s.per(), s.name(ref))
	}
	text := parts + where + s.filters() + "."
	if more := len(list) - len(named); more > 0 {
		text += fmt.Sprintf(" The table has %d more.", more)
	}
	if v == stat.Leans {
		return text + " It leans that way; it is not settled."
	}
	if leaning := s.judged(stat.Leans); len(leaning) > 0 && len(leaning) <= mostNamed {
		text += fmt.Sprintf(" %s %s, not settled.", Capital(Listed(each(leaning, s.name))), Verb(len(leaning), "leans", "lean"))
	} else if len(leaning) > 0 {
		text += fmt.Sprintf(" %s lean, not settled.", Capital(Number(len(leaning))))
	}
	if open := len(s.judged(stat.CannotTell)); open > 0 {
		text += fmt.Sprintf(" Can't tell %s from %s yet.", Verb(open, "the other one", "the other "+Number(open)), s.name(ref))
	}
	return text
}

// counted lists what groups come to.
func (s sayer) counted(groups []analytics.Group, what func(analytics.Group) string) string {
	parts := each(groups, func(g analytics.Group) string { return s.name(g) + " to " + what(g) })
	parts[0] = s.name(groups[0]) + " comes to " + what(groups[0])
	return Listed(parts)
}

// per names the rate that is compared.
func (s sayer) per() string {
	switch s.a.Outcome.Measure {
	case journal.ShareOf:
		return "share of " + s.a.Outcome.Events
	case journal.PerExposure:
		return s.a.Outcome.Events + " " + s.a.Outcome.Unit()
	}
	return s.a.Outcome.Events + " per hour"
}

// nearest returns the open comparison that is nearest to a verdict, and needs more hours for it.
func (s sayer) nearest() (best analytics.Group, ok bool) {
	for _, g := range s.a.Groups {
		if g.Versus != nil && g.Versus.MoreHours != nil && *g.Versus.MoreHours > 0 && (!ok || *g.Versus.Q < *best.Versus.Q || *g.Versus.Q == *best.Versus.Q && *g.Versus.MoreHours < *best.Versus.MoreHours) {
			best, ok = g, true
		}
	}
	return best, ok
}

// Notes says what the reader of an answer must know, a sentence each. What is the same for several groups is
// said once.
func Notes(a analytics.RateAnswer, sys units.System) []string {
	s := sayer{a, sys}
	moved := 0
	list := worded(a.Notes, func(n analytics.Note) string {
		switch n.Kind {
		case analytics.NoteExplained:
			if s.unjudged() == len(a.Groups)-1 {
				return "" // is the sentence
			}
			return s.apart(n)
		case analytics.NoteReversal, analytics.NoteWent:
			if slices.Contains(s.named(), n.Group) {
				return "" // stands with the sentence
			}
			if moved++; moved > mostNamed {
				return ""
			}
			return s.wentWith(n)
		}
		return note(a, n, sys)
	})
	if more := moved - mostNamed; more > 0 {
		list = append(list, fmt.Sprintf("So it is with %s more: the table has both ratios.", Number(more)))
	}
	return list
}

func note(a analytics.RateAnswer, n analytics.Note, sys units.System) string {
	switch n.Kind {
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
