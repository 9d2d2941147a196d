package prose

import (
	"fmt"

	"rigtally/analytics"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
)

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
	if c.HoursNeeded != nil {
		need = fmt.Sprintf("; about %s with each would tell", Hours(*c.HoursNeeded))
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
