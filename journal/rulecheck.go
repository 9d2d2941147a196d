package journal

import "math"

// RuleKey names a rule of a set.
type RuleKey string

// The rules, in the order in which they are checked.
const (
	RuleFlies      RuleKey = "flies"
	RuleApart      RuleKey = "distance between flies"
	RuleLeader     RuleKey = "leader length"
	RuleLeaderRods RuleKey = "leader against rod"
	RuleRod        RuleKey = "rod length"
	RuleRings      RuleKey = "rings"
	RuleSwivels    RuleKey = "swivels"
	RuleLeastTag   RuleKey = "least tag length"
	RuleMostTag    RuleKey = "greatest tag length"
	RuleBead       RuleKey = "bead"
)

// RuleVerdict says how a rig stands to a rule.
type RuleVerdict string

// How a rig may stand to a rule.
const (
	RulePass    RuleVerdict = "pass"
	RuleBreaks  RuleVerdict = "breaks"
	RuleUnknown RuleVerdict = "can't be checked"
)

// RuleCheck is a rig held against one rule. Numbers are in mm, flies, or lengths
// of the rod; a ban has none.
type RuleCheck struct {
	Rule    RuleKey     `json:"rule"`
	Verdict RuleVerdict `json:"verdict"`
	Limit   *float64    `json:"limit,omitempty"`
	Found   *float64    `json:"found,omitempty"`   // the worst of what is noted; the leader in mm against the rod too
	RodMM   *float64    `json:"rod_mm,omitempty"`  // of the leader against the rod
	Breaks  []RulePlace `json:"breaks,omitempty"`  // where it is broken
	Missing []RulePlace `json:"missing,omitempty"` // what would have to be noted to tell
}

// RulePlace is a place on the rig that a rule is about: a fly's, or the part
// named when Position is nil.
type RulePlace struct {
	Part     string   `json:"part"` // flies, point fly, rod, leader, swivel, distance, junction, tag, bead
	Position *int     `json:"position,omitempty"`
	Found    *float64 `json:"found,omitempty"`
}

// Check holds a rig against every rule of the set. A rule that something is
// known to break is broken, whatever else is not noted.
func (s RuleSet) Check(rig Rig) []RuleCheck {
	var list []RuleCheck
	add := func(c RuleCheck) {
		switch {
		case len(c.Breaks) > 0:
			c.Verdict = RuleBreaks
		case len(c.Missing) > 0:
			c.Verdict = RuleUnknown
		default:
			c.Verdict = RulePass
		}
		list = append(list, c)
	}
	if s.MostFlies != nil {
		limit, found := float64(*s.MostFlies), float64(len(rig.Positions))
		c := RuleCheck{Rule: RuleFlies, Limit: &limit, Found: &found}
		c.hold(RulePlace{Part: "flies", Found: &found}, most)
		if _, noted := rig.At(0); !noted {
			c.Missing = append(c.Missing, RulePlace{Part: "point fly"})
		}
		add(c)
	}
	if s.LeastApartMM != nil {
		c := RuleCheck{Rule: RuleApart, Limit: s.LeastApartMM}
		for _, p := range rig.Positions {
			if p.Position > 0 {
				c.hold(RulePlace{"distance", &p.Position, p.DistanceMM}, least)
			}
		}
		add(c)
	}
	if s.MostLeaderMM != nil {
		c := RuleCheck{Rule: RuleLeader, Limit: s.MostLeaderMM}
		c.hold(RulePlace{Part: "leader", Found: rig.LeaderLengthMM}, most)
		add(c)
	}
	if s.MostLeaderRods != nil {
		add(s.leaderAgainstRod(rig))
	}
	if s.MostRodMM != nil {
		c := RuleCheck{Rule: RuleRod, Limit: s.MostRodMM}
		c.hold(RulePlace{Part: "rod", Found: rig.RodLengthMM}, most)
		add(c)
	}
	if s.NoRings {
		add(banRings(rig))
	}
	if s.NoSwivels {
		c := RuleCheck{Rule: RuleSwivels}
		c.ban(RulePlace{Part: "swivel"}, string(rig.Swivel), "micro swivel")
		add(c)
	}
	for _, p := range []struct {
		rule  RuleKey
		limit *float64
		by    func(found, limit float64) bool
	}{{RuleLeastTag, s.LeastTagMM, least}, {RuleMostTag, s.MostTagMM, most}} {
		if p.limit == nil {
			continue
		}
		c := RuleCheck{Rule: p.rule, Limit: p.limit}
		for _, at := range rig.Droppers() {
			if at.Hang == HangTag {
				c.hold(RulePlace{"tag", &at.Position, at.TagLengthMM}, p.by)
			}
		}
		add(c)
	}
	if s.MostBeadMM != nil {
		c := RuleCheck{Rule: RuleBead, Limit: s.MostBeadMM}
		for _, p := range rig.Positions {
			c.hold(RulePlace{"bead", &p.Position, p.BeadMM}, most)
		}
		if _, noted := rig.At(0); !noted {
			c.Missing = append(c.Missing, RulePlace{Part: "point fly"})
		}
		add(c)
	}
	return list
}

// slack is how far a number may lie off a limit for no other reason than how
// computers keep decimals.
const ruleSlack = 1e-6

func most(found, limit float64) bool  { return found <= limit+ruleSlack }
func least(found, limit float64) bool { return found >= limit-ruleSlack }

// hold notes a place that breaks the limit, or of which too little is noted, and
// keeps the worst number found.
func (c *RuleCheck) hold(at RulePlace, keeps func(found, limit float64) bool) {
	switch {
	case at.Found == nil:
		c.Missing = append(c.Missing, at)
		return
	case !keeps(*at.Found, *c.Limit):
		c.Breaks = append(c.Breaks, at)
	}
	if c.Found == nil || keeps(*c.Found, *at.Found) {
		found := *at.Found
		c.Found = &found
	}
}

// ban notes a place that has what is banned, or of which nothing is noted.
func (c *RuleCheck) ban(at RulePlace, has, banned string) {
	switch has {
	case "":
		c.Missing = append(c.Missing, at)
	case banned:
		c.Breaks = append(c.Breaks, at)
	}
}

func banRings(rig Rig) RuleCheck {
	c := RuleCheck{Rule: RuleRings}
	c.ban(RulePlace{Part: "swivel"}, string(rig.Swivel), "tippet ring")
	for _, p := range rig.Droppers() {
		if p.Hang == HangTag {
			c.ban(RulePlace{Part: "junction", Position: &p.Position}, string(p.Junction), "tippet ring")
		}
	}
	return c
}

func (s RuleSet) leaderAgainstRod(rig Rig) RuleCheck {
	c := RuleCheck{Rule: RuleLeaderRods, Limit: s.MostLeaderRods, Found: rig.LeaderLengthMM, RodMM: rig.RodLengthMM}
	if rig.LeaderLengthMM == nil {
		c.Missing = append(c.Missing, RulePlace{Part: "leader"})
	}
	if rig.RodLengthMM == nil {
		c.Missing = append(c.Missing, RulePlace{Part: "rod"})
	}
	if len(c.Missing) == 0 && *rig.LeaderLengthMM > *s.MostLeaderRods**rig.RodLengthMM*(1+1e-9)+ruleSlack {
		rods := *rig.LeaderLengthMM / math.Max(*rig.RodLengthMM, ruleSlack)
		c.Breaks = append(c.Breaks, RulePlace{Part: "leader", Found: &rods})
	}
	return c
}
