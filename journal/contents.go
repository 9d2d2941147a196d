package journal

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"rigtally/journal/gauge"
)

// Contents is a whole journal at one moment, in an order that does not depend on
// the database: people, waters, beats, rigs, claims, bench pulls, trials and rule sets
// by id, sessions by day and id. Trials that run are without their seeds.
type Contents struct {
	Outfit   Outfit
	Usual    *UsualRig // nil where none was ever made the usual one
	Anglers  []Angler
	Waters   []Water
	Rigs     []Rig
	Claims   []Claim
	Pulls    []BenchPull // those deleted too, by id
	Trials   []Trial
	RuleSets []RuleSet
	Sessions []Session
	Taken    []Taken          // by session; what the deleted took is not among it
	Deleted  []DeletedSession // by id
	Aliases  []Alias          // by id; none for clients
}

// Taken is what a session took of gauges, and when it was then.
type Taken struct {
	Session ID           `json:"session"`
	Day     Date         `json:"day"`
	Middle  *time.Time   `json:"middle,omitempty"` // nil: no times were noted
	Fills   []gauge.Fill `json:"fills"`            // by quantity, one of each
}

// Validate checks it by itself.
func (t Taken) Validate() error {
	var r rules
	r.require(!t.Session.IsZero() && !t.Day.IsZero() && len(t.Fills) > 0, "what was taken of a gauge is of no session, or nothing")
	for i, f := range t.Fills {
		r.check(oneOf("quantity of a gauge", f.Quantity, gauge.Quantities()))
		r.check(checkGauge(gauge.Link{Site: f.Site, Sensor: f.Sensor}))
		r.require(!f.At.IsZero(), "what was taken of the gauge %s has no time", f.Site)
		r.require(!slices.ContainsFunc(t.Fills[:i], func(o gauge.Fill) bool { return o.Quantity == f.Quantity }), "%s was taken twice", f.Quantity)
	}
	return r.err()
}

// ThingKind is a kind of what sessions and rigs name.
type ThingKind string

// What can be renamed and merged.
const (
	ThingAngler ThingKind = "angler"
	ThingWater  ThingKind = "water"
	ThingBeat   ThingKind = "beat"
	ThingRig    ThingKind = "rig"
	ThingKnot   ThingKind = "knot" // of an own name
)

// Thing names one angler, water, beat, rig or knot: by its id, or by its name where the id is zero.
// Knots have names alone. A rig's name is that of its latest revision; a beat needs its water, unless its id is given.
type Thing struct {
	Kind  ThingKind
	ID    ID
	Name  string
	Water ID // of a beat that is named
}

// Validate checks an alias by itself.
func (a Alias) Validate() error {
	var r rules
	r.check(oneOf("kind", a.Kind, []ThingKind{ThingAngler, ThingWater, ThingBeat, ThingRig, ThingKnot}))
	r.name("the alias", a.Name)
	r.require((a.Kind == ThingKnot) == (a.Of == nil) && (a.Kind == ThingKnot) == (strings.TrimSpace(a.Knot) != ""), "the alias %s says not of what it is", a.Name)
	r.require((a.Kind == ThingBeat) == (a.Water != nil), "the alias %s of a beat goes with a water, and only one of a beat", a.Name)
	return r.err()
}

// KnotNamed is a knot as rigs keep it: a word of the vocabulary or, with the junction "other", an own name.
func KnotNamed(name string) (Junction, string) {
	for _, j := range Junctions() {
		if j != JunctionOther && strings.EqualFold(string(j), name) {
			return j, ""
		}
	}
	return JunctionOther, name
}

// CheckName checks a name by itself.
func (k ThingKind) CheckName(name string) error {
	var r rules
	r.name("the "+string(k), name)
	return r.err()
}

// Changed is what a rename or merge changed.
type Changed struct {
	Step     ID     // by which it can be taken back
	Told     string // in a sentence, with the counts
	Sessions int    // that name it
	Rigs     int    // that were renamed, moved or are tied with the knot
	Pulls    int    // at the bench
}

// Alias is another name of something, which it had before it was renamed or something else was merged into it. Imports
// and logging know it by that name too, but a thing that has the name now goes before.
type Alias struct {
	ID    ID        `json:"id"`
	Kind  ThingKind `json:"kind"`
	Name  string    `json:"name"`
	Water *ID       `json:"water_id,omitempty"` // of a beat's alias: its water
	Of    *ID       `json:"of,omitempty"`       // what is called so; nil for knots
	Knot  string    `json:"knot,omitempty"`     // what the knot is called now: an own name or a word of the vocabulary
	Was   *ID       `json:"was,omitempty"`      // the id of what was merged, which a phone may still send
}

// UsualRig is the rig that sessions are proposed with, since when: until the next is logged.
type UsualRig struct {
	RigID ID        `json:"rig_id"`
	Since time.Time `json:"since"`
}

// Standing says what the journal holds under a session's id.
type Standing int

// What a session may meet in the journal.
const (
	New       Standing = iota // nothing
	Same                      // the same session
	Different                 // another one, or the same since edited
	Waiting                   // one that was deleted and can still be brought back
)

// SessionLine is a session in short, as in a list.
type SessionLine struct {
	ID      ID
	Day     Date
	Angler  string
	Water   string
	Beat    string // "" when not noted
	Stints  int
	Untimed int     // stints whose minutes were not noted
	Minutes float64 // of the other stints

	Hookups, Landed, Tangles Total
	Breaks                   Total // of the line, with a fish or on a snag
	Rigs                     []Rig // as they were first fished in it
}

// SessionFilter chooses sessions for a list; its zero value is all of them.
type SessionFilter struct {
	Angler, Water, Rig *ID
	RigName            string // of any revision, without regard to case
	Text               string // words that angler, water, beat, rigs and notes hold together
	Season             int    // year; 0 means every year
	Limit              int    // at most so many; 0 means 50
	Offset             int    // leaves out so many of the latest
}

// Totals are what some days add up to.
type Totals struct {
	Sessions                              int
	Minutes                               float64
	Hookups, Landed, Tangles, MinutesLost Total
}

// ErrNotFound says that the journal holds nothing of that id or name.
var ErrNotFound = errors.New("not in this journal")

// ErrAway says that the journal's database can't be reached right now.
var ErrAway = errors.New("the journal's database is not answering right now")

// ErrUnsure says that the database broke off before it said whether something was stored. It may be stored or not, and
// never in part.
var ErrUnsure = errors.New("it is not known whether this was stored; look before you do it again")

// ErrConflict says that the journal holds something else under that id, or a
// newer version of it, than the writer has seen.
var ErrConflict = errors.New("the journal has a different version")

// Conflict is an ErrConflict that tells the versions apart: nothing of what was
// to be written was, and the writer can look at what stands there instead.
type Conflict struct {
	What    string // what it is about, such as "session"
	Seen    int    // the version that the writer began from, 0 for something new
	Held    int    // the version in the journal, 0 when nothing is there any more
	Deleted bool   // the one held was deleted, and can be brought back
	Stored  any    // what the journal holds: a Session, Rig, Claim, BenchPull, Trial or TrialUnit; nil for nothing
}

// Is makes every Conflict an ErrConflict.
func (c *Conflict) Is(target error) bool { return target == ErrConflict }

func (c *Conflict) Error() string {
	switch {
	case c.Deleted:
		return fmt.Sprintf("%v: that %s was deleted (version %d); restore it first", ErrConflict, c.What, c.Held)
	case c.Held == 0:
		return fmt.Sprintf("%v: that %s (version %d) was deleted in the meantime", ErrConflict, c.What, c.Seen)
	case c.Seen == 0:
		return fmt.Sprintf("%v: another %s has that id (version %d)", ErrConflict, c.What, c.Held)
	}
	return fmt.Sprintf("%v: the %s was changed in the meantime (it is version %d, yours started from %d); look at it again and make the change there", ErrConflict, c.What, c.Held, c.Seen)
}

// Stale is the conflict of a writer who has seen another version than the one
// held, and nil otherwise. Who has seen none, 0, takes whatever is there.
func Stale(what string, seen, held int, deleted bool, stored any) error {
	if seen == 0 || seen == held {
		return nil
	}
	return &Conflict{What: what, Seen: seen, Held: held, Deleted: deleted, Stored: stored}
}

// Hindered says that the journal's database can do nothing now, whatever it is asked, and what ends that. Nothing is
// half saved.
type Hindered struct {
	Says  string // why, and what to do
	Cause error
}

// Unwrap gives the cause.
func (h *Hindered) Unwrap() error { return h.Cause }

func (h *Hindered) Error() string { return fmt.Sprintf("%s (%v)", h.Says, h.Cause) }
