package plan

import (
	"math"

	"rigtally/internal/units"
)

// What the trade goes by where a journal does not say. All of it is common
// practice, no source: starting values for a person to change, never findings.
const (
	PracticeTagLowMM       = 150.0 // a tag as tied for rivers, at least
	PracticeTagHighMM      = 180.0 // and at most
	PracticeLeastTagMM     = 100.0 // the shortest tag that still fishes well
	PracticeWasteMM        = 15.0  // tag lost at each fly change
	PracticeRetieMM        = 400.0 // tippet lost when the junction is tied again: the old tag, its knot and what the new one takes
	PracticeLeastTippetMM  = 1000.0
	practiceTippetMM       = 2100.0 // the tippet to begin with: the middle of 1.8–2.4 m
	PracticeChangesPerHour = 1.5    // fly changes on one dropper
	PracticeTangleMinutes  = 4.0    // to undo a tangle or cut it out
	PracticeRetieMinutes   = 6.0    // to tie the junction and its tag again
)

// Origin says where a number that a plan rests on comes from.
type Origin string

// The origins of a number.
const (
	FromPractice Origin = "common practice, no source"
	FromJournal  Origin = "this journal"
	FromYou      Origin = "typed in"
)

// Assumed is a number that a plan rests on and where it comes from.
type Assumed struct {
	Value float64 `json:"value"`
	From  Origin  `json:"from"`
	N     int     `json:"notes"` // how many notes of the journal are behind it
}

// Practice is a number of common practice.
func Practice(v float64) Assumed { return Assumed{Value: v, From: FromPractice} }

// PracticeLength is a length of common practice, given in mm, in the round
// figures of a system: in US units to the next quarter of an inch, or to the
// inch from a foot on.
func PracticeLength(mm float64, sys units.System) Assumed {
	if sys != units.US {
		return Practice(mm)
	}
	const inch = 25.4
	step := 4.0 // in an inch
	if mm >= 12*inch {
		step = 1
	}
	return Practice(math.Round(mm/inch*step) / step * inch)
}
