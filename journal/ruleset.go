package journal

import (
	"math"
	"reflect"
	"strings"
	"time"
)

// RuleSet is a set of limits that a rig may be held against, as of a day and
// from a source the user names. A limit that is nil, or a ban that is false, is
// not in the set.
type RuleSet struct {
	ID             ID         `json:"id"`
	Name           string     `json:"name"`
	Source         string     `json:"source,omitempty"`
	AsOf           *Date      `json:"as_of,omitempty"`   // the day on which the rules were in force
	Example        bool       `json:"example,omitempty"` // one a journal starts with, unchanged
	MostFlies      *int       `json:"most_flies,omitempty"`
	LeastApartMM   *float64   `json:"least_apart_mm,omitempty"`   // between flies, along the leader
	MostLeaderMM   *float64   `json:"most_leader_mm,omitempty"`   // the whole leader
	MostLeaderRods *float64   `json:"most_leader_rods,omitempty"` // the whole leader, in lengths of the rod
	MostRodMM      *float64   `json:"most_rod_mm,omitempty"`
	NoRings        bool       `json:"no_rings,omitempty"`
	NoSwivels      bool       `json:"no_swivels,omitempty"`
	LeastTagMM     *float64   `json:"least_tag_mm,omitempty"`
	MostTagMM      *float64   `json:"most_tag_mm,omitempty"`
	MostBeadMM     *float64   `json:"most_bead_mm,omitempty"`
	CreatedAt      time.Time  `json:"created_at"`
	DeletedAt      *time.Time `json:"deleted_at,omitempty"` // nil: in use
}

// Deleted reports whether the set was taken out of use; it can be put back.
func (s RuleSet) Deleted() bool { return s.DeletedAt != nil }

// Validate checks a rule set by itself.
func (s RuleSet) Validate() error {
	var r rules
	r.require(!s.ID.IsZero(), "the rule set has no id")
	r.name("the rule set", s.Name)
	r.text("the source of the rules", s.Source, maxTextLen)
	if s.AsOf != nil {
		r.require(s.AsOf.Year >= 1900 && s.AsOf.Year <= 2200, "the rules can't date from %s; write the day as 2026-04-30", s.AsOf)
	}
	if s.MostFlies != nil {
		r.require(*s.MostFlies >= 1 && *s.MostFlies <= maxPositions, "%d flies at most can't be right; write a number from 1 to %d", *s.MostFlies, maxPositions)
	}
	r.length("the least distance between flies", s.LeastApartMM, maxLeaderMM)
	r.length("the greatest leader length", s.MostLeaderMM, maxLeaderMM)
	if s.MostLeaderRods != nil {
		r.require(*s.MostLeaderRods > 0 && *s.MostLeaderRods <= 20, "a leader of at most %g rod lengths can't be right; write a number above 0 and at most 20", *s.MostLeaderRods)
	}
	r.length("the greatest rod length", s.MostRodMM, maxLeaderMM)
	r.length("the least tag length", s.LeastTagMM, maxTagMM)
	r.length("the greatest tag length", s.MostTagMM, maxTagMM)
	r.within("the greatest bead", s.MostBeadMM, 0, 20, "mm")
	if s.LeastTagMM != nil && s.MostTagMM != nil {
		r.require(*s.LeastTagMM <= *s.MostTagMM, "the least tag length is above the greatest; swap them")
	}
	return r.err()
}

func (s *RuleSet) Normalize() {
	s.Name, s.Source = strings.TrimSpace(s.Name), strings.TrimSpace(s.Source)
	s.CreatedAt = s.CreatedAt.UTC().Truncate(time.Microsecond)
	if s.DeletedAt != nil {
		at := s.DeletedAt.UTC().Truncate(time.Microsecond)
		s.DeletedAt = &at
	}
}

// Equal reports whether two sets are the same in everything.
func (s RuleSet) Equal(other RuleSet) bool {
	s.Normalize()
	other.Normalize()
	return reflect.DeepEqual(s, other)
}

// SameRules reports whether two sets say the same, whenever they were made.
func (s RuleSet) SameRules(other RuleSet) bool {
	s.CreatedAt, s.DeletedAt, s.Example = other.CreatedAt, other.DeletedAt, other.Example
	return s.Equal(other)
}

// StartingRules lists the sets that a journal starts with. They are examples to
// check against the rules in force. Their ids are the same in every journal.
func StartingRules() []RuleSet {
	apart, rods, rod, bead, flies := 500.0, 2.0, 3660.0, 4.0, 3
	s := RuleSet{
		ID: startingID(1001), Name: "International competition, an example", Example: true, CreatedAt: startingBoard,
		Source: "Examples to check against the rules in force. At most 3 flies, beads of at most 4 mm and a rod of at most 366 cm: as read in a club's copy of the international rules of 2012. " +
			"500 mm between flies, and a leader of at most twice the rod: from memory, not checked. Editions differ.",
		MostFlies: &flies, LeastApartMM: &apart, MostLeaderRods: &rods, MostRodMM: &rod, MostBeadMM: &bead,
	}
	s.Normalize()
	return []RuleSet{s}
}

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
	hold := func(rule RuleKey, limit *float64, keeps func(found, limit float64) bool, point bool, places ...RulePlace) {
		if limit == nil {
			return
		}
		c := RuleCheck{Rule: rule, Limit: limit}
		for _, at := range places {
			c.hold(at, keeps)
		}
		if _, noted := rig.At(0); point && !noted {
			c.Missing = append(c.Missing, RulePlace{Part: "point fly"})
		}
		add(c)
	}
	at := func(part string, is func(RigPosition) bool, found func(RigPosition) *float64) (places []RulePlace) {
		for _, p := range rig.Positions {
			if is(p) {
				places = append(places, RulePlace{part, &p.Position, found(p)})
			}
		}
		return places
	}
	onTag := func(p RigPosition) bool { return p.Position > 0 && p.Hang == HangTag }
	tags := at("tag", onTag, func(p RigPosition) *float64 { return p.TagLengthMM })
	var mostFlies *float64
	if s.MostFlies != nil {
		mostFlies = new(float64(*s.MostFlies))
	}
	hold(RuleFlies, mostFlies, most, true, RulePlace{Part: "flies", Found: new(float64(len(rig.Positions)))})
	hold(RuleApart, s.LeastApartMM, least, false, at("distance", func(p RigPosition) bool { return p.Position > 0 }, func(p RigPosition) *float64 { return p.DistanceMM })...)
	hold(RuleLeader, s.MostLeaderMM, most, false, RulePlace{Part: "leader", Found: rig.LeaderLengthMM})
	if s.MostLeaderRods != nil {
		add(s.leaderAgainstRod(rig))
	}
	hold(RuleRod, s.MostRodMM, most, false, RulePlace{Part: "rod", Found: rig.RodLengthMM})
	if s.NoRings {
		add(banRings(rig))
	}
	if s.NoSwivels {
		c := RuleCheck{Rule: RuleSwivels}
		c.ban(RulePlace{Part: "swivel"}, string(rig.Swivel), "micro swivel")
		add(c)
	}
	hold(RuleLeastTag, s.LeastTagMM, least, false, tags...)
	hold(RuleMostTag, s.MostTagMM, most, false, tags...)
	hold(RuleBead, s.MostBeadMM, most, true, at("bead", func(RigPosition) bool { return true }, func(p RigPosition) *float64 { return p.BeadMM })...)
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
