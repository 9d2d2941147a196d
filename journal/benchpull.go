package journal

import (
	"strings"
	"time"

	"rigtally/journal/field"
)

// BenchPull is a knot, or a line without one, pulled with a scale away from the
// water until it broke, slipped or held.
type BenchPull struct {
	ID           ID         `json:"id"`
	Day          Date       `json:"day"`
	AnglerID     *ID        `json:"angler_id,omitempty"` // who tied it; nil: not noted
	Junction     Junction   `json:"junction,omitempty"`  // empty: a line without a knot
	JunctionName string     `json:"junction_name,omitempty"`
	Facing       Facing     `json:"facing,omitempty"`
	Prop         Prop       `json:"prop,omitempty"`
	TippetMM     float64    `json:"tippet_mm"`
	Material     Material   `json:"material,omitempty"`
	PulledOn     PulledOn   `json:"pulled_on,omitempty"`
	Wetness      Wetness    `json:"wetness,omitempty"`
	ForceN       float64    `json:"force_n"` // the most that the scale showed
	Ending       PullEnding `json:"ending"`
	BrokeAt      PullBreak  `json:"broke_at,omitempty"` // empty when not noted
	Label        string     `json:"label,omitempty"`    // of the spool, the batch or the evening
	Note         string     `json:"note,omitempty"`
	LoggedAt     time.Time  `json:"logged_at"`
	DeletedAt    *time.Time `json:"deleted_at,omitempty"` // nil: in the journal
	Version      int        `json:"version,omitzero"`     // 1 when first stored, one more at each change
}

// The words of a bench pull.
type (
	// PulledOn is the part of the leader that the scale pulled on.
	PulledOn string
	// Wetness says whether the line was soaked.
	Wetness string
	// PullEnding is how a pull ended.
	PullEnding string
	// PullBreak is where a pulled line broke.
	PullBreak string
)

// Words that the rules and the answers refer to.
const (
	PulledBroke   PullEnding = "broke"
	PulledSlipped PullEnding = "slipped"       // the knot ran out
	PulledHeld    PullEnding = "did not break" // the scale or the arm gave up first

	PullBrokeJunction PullBreak = "junction"
	PullBrokeTag      PullBreak = "tag"
	PullBrokeMain     PullBreak = "main line"
	PullBrokeGrip     PullBreak = "grip" // at the clamp or the hand, which tells of the bench and not of the knot
)

// PulledOns lists what may be pulled on.
func PulledOns() []PulledOn { return []PulledOn{"tag", "main line"} }

// Wetnesses lists how wet a line may be.
func Wetnesses() []Wetness { return []Wetness{"wet", "dry"} }

// PullEndings lists how a pull may end.
func PullEndings() []PullEnding { return []PullEnding{PulledBroke, PulledSlipped, PulledHeld} }

// PullBreaks lists where a pulled line may break.
func PullBreaks() []PullBreak {
	return []PullBreak{PullBrokeJunction, PullBrokeTag, PullBrokeMain, PullBrokeGrip}
}

const maxForceN = 2000

// Knotted reports whether the line had a junction in it.
func (p BenchPull) Knotted() bool { return p.Junction != "" }

// Knot names the junction; "" for a line without one.
func (p BenchPull) Knot() string {
	if p.Junction == JunctionOther {
		return p.JunctionName
	}
	return string(p.Junction)
}

// AtLeast reports whether the force is only a lower bound of what the tied line
// holds: it did not break, or the grip broke it.
func (p BenchPull) AtLeast() bool { return p.Ending == PulledHeld || p.BrokeAt == PullBrokeGrip }

// Equal reports whether two pulls say the same, when and how often they were stored aside.
func (p BenchPull) Equal(other BenchPull) bool {
	sameAngler := p.AnglerID == nil && other.AnglerID == nil || p.AnglerID != nil && other.AnglerID != nil && *p.AnglerID == *other.AnglerID
	p.AnglerID, other.AnglerID, p.DeletedAt, other.DeletedAt = nil, nil, nil, nil
	p.LoggedAt, other.LoggedAt, p.Version, other.Version = time.Time{}, time.Time{}, 0, 0
	return sameAngler && p == other
}

// Normalize brings texts and times into the form in which they are stored.
func (p *BenchPull) Normalize() {
	p.JunctionName = strings.Join(strings.Fields(p.JunctionName), " ")
	p.Label = strings.Join(strings.Fields(p.Label), " ")
	p.Note = strings.TrimSpace(p.Note)
	p.LoggedAt = p.LoggedAt.UTC().Truncate(time.Microsecond)
	if p.DeletedAt != nil {
		at := p.DeletedAt.UTC().Truncate(time.Microsecond)
		p.DeletedAt = &at
	}
}

// Validate checks a pull by itself.
func (p BenchPull) Validate() error {
	r := rules{whole: true}
	r.require(!p.ID.IsZero(), "the pull has no id")
	r.require(!p.Day.IsZero(), "the pull has no day; write it as 2026-04-30")
	r.require(p.Day.IsZero() || p.Day.Year >= 1900 && p.Day.Year <= 2200, "the day %s can't be right; write one between 1900 and 2200, as 2026-04-30", p.Day)
	r.require(p.Ending != "", "the pull has no end; choose broke, slipped or did not break")
	checkFields(&r, pullFields, &p, "", field.Chosen)
	r.require((p.Junction == JunctionOther) == (strings.TrimSpace(p.JunctionName) != ""), "a junction with your own name goes with junction \"other\", and only with it")
	r.require(!strings.EqualFold(strings.TrimSpace(p.JunctionName), "unknotted"), "a junction can't be named unknotted, which means a line without one; leave the junction out")
	checkFields(&r, pullFields, &p, "", field.Text)
	r.require(p.TippetMM != 0, "the pull has no tippet size; strengths can only be compared on a known diameter")
	r.require(p.ForceN != 0, "a force of 0 N can't be right; it must be above 0 and at most %d N", maxForceN)
	checkFields(&r, pullFields, &p, "", field.Number)
	r.require(p.Ending == PulledBroke || p.BrokeAt == "", "the pull %s, so it has no place where it broke; leave the place out", p.Ending)
	p.validateUnknotted(&r)
	return r.err()
}

// validateUnknotted refuses what a line without a knot can't have.
func (p BenchPull) validateUnknotted(r *rules) {
	if p.Knotted() {
		return
	}
	r.require(p.Facing == "" && p.Prop == "" && p.PulledOn == "", "a line without a junction has no facing, prop or tag to pull on; leave them out, or choose the junction")
	r.require(p.Ending != PulledSlipped, "a line without a junction can't slip; choose the junction, or how it ended")
	r.require(p.BrokeAt != PullBrokeJunction && p.BrokeAt != PullBrokeTag, "a line without a junction can't break at it; choose the junction, or main line or grip")
}
