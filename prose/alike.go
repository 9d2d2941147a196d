package prose

import (
	"fmt"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
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
			if reason := s.apart(n); reason != "" && len(reasons) < mostNamed {
				reasons = append(reasons, reason)
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

// apart says who or what keeps groups from being compared with the reference like for like. Those of which the
// same is to be said are named together, with the first; "" for the others.
func (s sayer) apart(n analytics.Note) string {
	var groups []string
	for _, other := range s.a.Notes {
		if other.Kind != n.Kind || other.Factor.Key != n.Factor.Key || !slices.Equal(other.Words, n.Words) {
			continue
		}
		if len(groups) == 0 && other.Group != n.Group {
			return ""
		}
		groups = append(groups, s.the(other.Group))
	}
	named, who, reference := few(groups), few(n.Words), s.name(s.a.Groups[s.a.Reference])
	was, them := Verb(len(groups), "was", "were"), Verb(len(groups), "it", "them")
	const cannot = ": can't tell like for like."
	switch n.Factor.Key {
	case "":
		return fmt.Sprintf("%s %s never fished in the same hands and places as %s, so nothing compares %s with it%s", Capital(named), was, reference, them, cannot)
	case "angler":
		return fmt.Sprintf("Only %s fished %s, so nobody’s fishing compares %s with %s%s", who, named, them, reference, cannot)
	case "water", "beat":
		return fmt.Sprintf("%s %s fished only on %s, where %s never was%s", Capital(named), was, who, reference, cannot)
	}
	return fmt.Sprintf("%s %s fished only with %s %s, and %s never with that%s", Capital(named), was, Lower(n.Factor.Title), who, reference, cannot)
}

// the is a group's name as a thing.
func (s sayer) the(group int) string {
	name := s.name(s.a.Groups[group])
	if len(s.a.By) == 1 && s.a.By[0].Factor.Key == "junction" {
		return "the " + name
	}
	return name
}

// few lists names in a sentence, three of many.
func few(list []string) string {
	if more := len(list) - mostNamed; more > 1 {
		list = append(slices.Clone(list[:mostNamed]), fmt.Sprintf("%d others", more))
	}
	return Listed(list)
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
// lean, else the one nearest to a verdict.
func (s sayer) named() []int {
	var list []int
	for _, v := range []stat.Verdict{stat.Differs, stat.Leans} {
		for _, g := range s.judged(v) {
			if len(list) < mostNamed {
				list = append(list, s.place(g))
			}
		}
		if len(list) > 0 {
			return list
		}
	}
	if len(s.a.Groups) == 2 {
		return []int{1 - s.a.Reference}
	}
	if g, ok := s.nearest(); ok {
		return []int{s.place(g)}
	}
	return nil
}

// place is that of a compared group among all.
func (s sayer) place(g analytics.Group) int {
	return slices.IndexFunc(s.a.Groups, func(other analytics.Group) bool { return other.Versus == g.Versus })
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
	more := a.Outcome.MoreIsBetter()
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
