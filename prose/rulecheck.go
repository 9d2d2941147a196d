package prose

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Rule says what a rule asks of a rig.
func Rule(c journal.RuleCheck, sys units.System) string {
	limit, rods := 0.0, ""
	if c.Limit != nil {
		limit = *c.Limit
	}
	if c.RodMM != nil {
		rods = ", here " + units.FormatLength(limit**c.RodMM, sys)
	}
	length := units.FormatLength(limit, sys)
	return map[journal.RuleKey]string{
		journal.RuleFlies:      "At most " + Plural(int(limit), "fly", "flies"),
		journal.RuleApart:      "Flies at least " + length + " apart",
		journal.RuleLeader:     "Leader of at most " + length,
		journal.RuleLeaderRods: "Leader of at most " + decimal(limit) + " rod lengths" + rods,
		journal.RuleRod:        "Rod of at most " + length,
		journal.RuleRings:      "No rings",
		journal.RuleSwivels:    "No swivels",
		journal.RuleLeastTag:   "Tags of at least " + length,
		journal.RuleMostTag:    "Tags of at most " + length,
		journal.RuleBead:       "Beads of at most " + units.FormatLength(limit, units.Metric),
	}[c.Rule]
}

// RuleFound says what the rig has, "" when nothing of it is noted.
func RuleFound(c journal.RuleCheck, sys units.System) string {
	switch {
	case c.Rule == journal.RuleRings || c.Rule == journal.RuleSwivels:
		if len(c.Breaks) > 0 {
			return "one at " + strings.Join(each(c.Breaks, rulePlace), " and ")
		}
		if len(c.Missing) == 0 {
			return "none"
		}
		return ""
	case c.Found == nil && len(c.Missing) == 0:
		return "nothing it is about"
	case c.Found == nil:
		return ""
	case c.Rule == journal.RuleFlies:
		return Plural(int(*c.Found), "fly", "flies")
	case c.Rule == journal.RuleBead && *c.Found == 0:
		return "no bead"
	case c.Rule == journal.RuleBead:
		return "the largest " + units.FormatLength(*c.Found, units.Metric)
	}
	text := units.FormatLength(*c.Found, sys)
	switch c.Rule {
	case journal.RuleApart, journal.RuleLeastTag:
		return "the least " + text
	case journal.RuleMostTag:
		return "the longest " + text
	}
	return text
}

// RuleAdvice says what would keep a rule that is broken, or what to note of one
// that can't be checked; "" for one that is kept.
func RuleAdvice(c journal.RuleCheck, sys units.System) string {
	switch c.Verdict {
	case journal.RuleBreaks:
		return ruleChange(c, sys)
	case journal.RuleUnknown:
		text := Capital(Listed(each(c.Missing, rulePlace))) + Verb(len(c.Missing), " isn't noted", " aren't noted")
		if c.Rule == journal.RuleBead && c.Missing[0].Part == "bead" {
			text += "; write 0 for no bead"
		}
		return text + "."
	}
	return ""
}

func ruleChange(c journal.RuleCheck, sys units.System) string {
	change := func(at journal.RulePlace) string {
		over, fly := 0.0, ""
		if at.Found != nil && c.Limit != nil {
			over = *at.Found - *c.Limit
		}
		if at.Position != nil {
			fly = journal.PositionTitle(*at.Position)
		}
		by := units.FormatLength(math.Abs(over), sys)
		switch c.Rule {
		case journal.RuleLeaderRods:
			return "shorten the leader by " + units.FormatLength(*c.Found-*c.Limit**c.RodMM, sys) + "; it is " + decimal(*at.Found) + " rod lengths"
		case journal.RuleBead:
			return "use a bead of at most " + units.FormatLength(*c.Limit, units.Metric) + " on " + fly
		}
		return map[journal.RuleKey]string{
			journal.RuleFlies:    "take " + Plural(int(over), "fly", "flies") + " off",
			journal.RuleApart:    "tie " + fly + " " + by + " higher",
			journal.RuleLeader:   "shorten the leader by " + by,
			journal.RuleRod:      "the rod is " + by + " too long",
			journal.RuleRings:    "tie a knot in place of the ring at " + rulePlace(at),
			journal.RuleSwivels:  "tie a knot in place of the swivel",
			journal.RuleLeastTag: "tie the tag of " + fly + " " + by + " longer",
			journal.RuleMostTag:  "cut " + by + " off the tag of " + fly,
		}[c.Rule]
	}
	return Capital(Listed(each(c.Breaks, change))) + "."
}

// rulePlace names a place on a rig.
func rulePlace(at journal.RulePlace) string {
	fly := ""
	if at.Position != nil {
		fly = journal.PositionTitle(*at.Position)
	}
	switch at.Part {
	case "swivel":
		return "the join of sighter and tippet"
	case "distance":
		return "the distance below " + fly
	case "leader":
		return "the leader's length"
	case "rod":
		return "the rod's length"
	}
	if fly != "" {
		return "the " + at.Part + " of " + fly
	}
	return "the " + at.Part
}

// RulesSummary says in a sentence how a rig stands to a set of rules.
func RulesSummary(set journal.RuleSet, checks []journal.RuleCheck) string {
	broken, open := 0, 0
	for _, c := range checks {
		switch c.Verdict {
		case journal.RuleBreaks:
			broken++
		case journal.RuleUnknown:
			open++
		}
	}
	name := "“" + set.Name + "”"
	switch {
	case len(checks) == 0:
		return "There is no rule in " + name + " yet."
	case broken == 0 && open == 0:
		return "Keeps all " + Several(len(checks), "rule") + " of " + name + "."
	case broken == 0:
		return fmt.Sprintf("Keeps %d of %s of %s; %d can't be checked yet.", len(checks)-open, Several(len(checks), "rule"), name, open)
	}
	text := fmt.Sprintf("Breaks %d of %s of %s", broken, Several(len(checks), "rule"), name)
	if open > 0 {
		text += fmt.Sprintf("; %d can't be checked yet", open)
	}
	return text + "."
}

// RulesCaution says what a check is worth.
func RulesCaution(set journal.RuleSet) string {
	text := "Distances are measured along the leader, from junction to junction. The rules in force, and whoever judges by them, decide; this page does not."
	if set.Example {
		text = "These are examples to check against the rules in force. " + text
	}
	return text
}

// decimal prints a number with at most two decimals.
func decimal(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
}
