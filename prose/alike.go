package prose

import (
	"fmt"
	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"slices"
	"strings"
)

// alike begins a sentence, which begins small, with what is held alike in it.
func (s sayer) alike(text string) string {
	if len(s.a.Given) == 0 {
		return Capital(text)
	}
	return "Like for like (" + CorrectedFor(s.a.Given) + "): " + text
}

// likeForLike is a group's rate like for like: that of the reference as fished, times the ratio. It
// is false where that can be no rate.
func (s sayer) likeForLike(g analytics.Group) (float64, bool) {
	ref := s.a.Groups[s.a.Reference]
	if g.Corrected == nil || g.Corrected.Ratio == nil || ref.Rate <= 0 {
		return 0, false
	}
	rate := ref.Rate * *g.Corrected.Ratio
	return rate, s.a.Outcome.Measure != journal.ShareOf || rate < 1
}

// unjudged is the number of groups for which there is no like-for-like comparison to judge.
func (s sayer) unjudged() int {
	n := 0
	for _, g := range s.a.Groups {
		if g.Versus != nil && g.Versus.Verdict == "" {
			n++
		}
	}
	return n
}

// noneAlike says what stands in the way where no group can be compared like for like.
func (s sayer) noneAlike() string {
	var reasons []string
	for _, n := range s.a.Notes {
		switch n.Kind {
		case analytics.NoteExplained:
			if len(reasons) < mostNamed {
				group, reference := names(s.a, n, s.sys)
				reasons = append(reasons, explained(s.a.By, n, group, reference))
			}
		case analytics.NoteTooFewToCorrect:
			return fmt.Sprintf("Can't tell one %s from another like for like%s: %s too few.", s.factors(), s.filters(), Several(n.Count, "session")+Verb(n.Count, " is", " are"))
		}
	}
	if len(reasons) == 0 {
		return fmt.Sprintf("Can't tell one %s from another like for like%s; below is why.", s.factors(), s.filters())
	}
	return strings.Join(reasons, " ")
}

// explained says who or what keeps a group from being compared with the reference like for like.
func explained(by []journal.By, n analytics.Note, group, reference string) string {
	if len(by) == 1 && by[0].Factor.Key == "junction" {
		group = "the " + group
	}
	const cannot = ": can't tell like for like."
	words := n.Words
	if more := len(words) - mostNamed; more > 1 {
		words = append(words[:mostNamed:mostNamed], fmt.Sprintf("%d others", more))
	}
	switch who := Listed(words); n.Factor.Key {
	case "":
		return fmt.Sprintf("%s and %s were never fished in the same hands and places, so nothing compares them%s", Capital(group), reference, cannot)
	case "angler":
		return fmt.Sprintf("Only %s fished %s, so nobody’s fishing compares it with %s%s", who, group, reference, cannot)
	case "water", "beat":
		return fmt.Sprintf("%s was fished only on %s, where %s never was%s", Capital(group), who, reference, cannot)
	default:
		return fmt.Sprintf("%s was fished only with %s %s, and %s never with that%s", Capital(group), Lower(n.Factor.Title), who, reference, cannot)
	}
}

// went names what a difference as fished went with.
func went(f journal.Factor) string {
	switch f.Key {
	case "":
		return "which days it was fished"
	case "angler":
		return "who fished"
	case "water", "beat":
		return "where it was fished"
	case "season", "month":
		return "when"
	}
	return strings.ToLower(f.Title)
}

// Beside says in figures what the sentence says in words: the like-for-like ratios of the groups that it
// names, how they stood as fished, and what the difference went with.
func Beside(a analytics.RateAnswer, sys units.System) []string {
	s := sayer{a, sys}
	if a.Reference < 0 || len(a.Groups) < 2 {
		return nil
	}
	var list []string
	for _, i := range s.named() {
		if text := s.ratioBeside(a.Groups[i]); text != "" {
			list = append(list, s.about(i, text))
		}
	}
	for _, n := range a.Notes {
		if (n.Kind == analytics.NoteReversal || n.Kind == analytics.NoteWent) && slices.Contains(s.named(), n.Group) {
			list = append(list, s.wentWith(n))
		}
	}
	return list
}

// named are the places of the groups that the sentence is about: those that differ, else those that
// lean, and of two groups the one compared.
func (s sayer) named() []int {
	var list []int
	for _, v := range []stat.Verdict{stat.Differs, stat.Leans} {
		for _, g := range s.judged(v) {
			if len(list) < mostNamed {
				list = append(list, slices.IndexFunc(s.a.Groups, func(o analytics.Group) bool { return o.Versus == g.Versus }))
			}
		}
		if len(list) > 0 {
			return list
		}
	}
	if len(s.a.Groups) == 2 {
		return []int{1 - s.a.Reference}
	}
	return nil
}

// about begins a sentence with the group that it is about, where several are compared.
func (s sayer) about(group int, text string) string {
	if len(s.a.Groups) == 2 {
		return text
	}
	return Capital(s.name(s.a.Groups[group])) + ": " + Lower(text)
}

// wentWith says what a difference as fished went with.
func (s sayer) wentWith(n analytics.Note) string {
	text := "Of the difference as fished, most went with " + went(n.Factor) + "."
	if r := s.a.Groups[n.Group].Versus.Ratio; n.Kind == analytics.NoteReversal && r != nil {
		text = fmt.Sprintf("As fished it looks the other way round (%s times): most of that went with %s.", Ratio(*r), went(n.Factor))
	}
	return s.about(n.Group, text)
}

// ratioBeside is a group's ratio to the reference like for like, with the one as fished beside it.
func (s sayer) ratioBeside(g analytics.Group) string {
	as := " times as often"
	if s.a.Outcome.Measure == journal.AmountPer {
		as = " times as much"
	}
	var parts []string
	if c := g.Corrected; c != nil && c.Ratio != nil {
		text := Ratio(*c.Ratio) + as
		if c.Low != nil {
			text += " (95% interval " + ratioSpan(c.Low, c.High)
			if g.Versus.Q != nil {
				text += ", q " + equals(*g.Versus.Q)
			}
			text += ")"
		}
		parts = append(parts, text+".")
	}
	if r := g.Versus.Ratio; r != nil {
		parts = append(parts, "As fished: "+Ratio(*r)+" times.")
	}
	return strings.Join(parts, " ")
}

// Groups with a smaller share of the exposure are not named as the best: the
// lowest rate of many is soon that of one that was hardly tried.
const leastTried = 0.05

// Best says which group did best so far, like for like, and whether that is settled against the one that
// others are compared with; "" where there is nothing to choose from.
func Best(a analytics.RateAnswer, sys units.System) string {
	if len(a.By) == 0 || a.Reference < 0 || a.Total.Events == 0 {
		return ""
	}
	s := sayer{a, sys}
	more := a.Outcome.Key == "hookups" || a.Outcome.Key == "landed"
	best, least, tried := -1, 0.0, 0
	for i, g := range a.Groups {
		ratio := 1.0
		if i != a.Reference {
			if g.Corrected == nil || g.Corrected.Low == nil {
				continue
			}
			ratio = *g.Corrected.Ratio
		}
		if g.Exposure < leastTried*a.Total.Exposure {
			continue
		}
		tried++
		if best < 0 || more && ratio > least || !more && ratio < least {
			best, least = i, ratio
		}
	}
	if tried < 2 {
		return ""
	}
	g, word, held := a.Groups[best], "Least", ""
	if more {
		word = "Most"
	}
	if len(a.Given) > 0 {
		held = ", like for like"
	}
	rate := g.Rate
	if best != a.Reference {
		if v, ok := s.likeForLike(g); ok {
			rate = v
		}
	}
	text := fmt.Sprintf("%s so far with %s%s: %s, in %s. ", word, s.name(g), held, Often(a.Outcome, rate), s.amount(g))
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
	if c.MoreHours != nil && *c.MoreHours > 0 {
		need = fmt.Sprintf("; about %s more would tell", Hours(*c.MoreHours))
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
