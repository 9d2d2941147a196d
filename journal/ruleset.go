package journal

import (
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
