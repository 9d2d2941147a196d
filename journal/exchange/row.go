package exchange

import (
	"rigtally/journal"
)

// row is one data row as understood. Pointers may be shared between rows.
type row struct {
	number int      // as a spreadsheet shows it
	cells  []string // as written
	bad    bool
	with   int // the bad row of the same stint that keeps this good one out; 0: none

	session, angler, guide, water, beat, zone, rig string
	day                                            journal.Date
	start, end                                     *int     // seconds after midnight
	breaks                                         *float64 // minutes of the time from start to end in which nobody fished
	stint                                          *int

	// What the catalogue has.
	outing journal.Session // conditions and notes
	leader journal.Rig
	fished journal.Stint
	fly    journal.RigPosition // position aside
	tag    journal.StintPosition

	place     place
	tally     tally
	told      [numCounts]telling // what the row says of each count
	uncounted map[count]int      // what happened of kinds of which no count was kept
	assumed   bool               // it was never said of what count was kept
	events    []journal.Event    // that the tally makes

	// Of a row to be written.
	fairHookups, loads, failures *int

	pull   journal.BenchPull // in a sheet of bench pulls
	pullID string
}

// place is the position on the rig that a row describes.
type place int

// Besides the positions themselves, a row may be about the whole rig.
const (
	placeMissing place = iota // the cell is empty or there is no such column
	placeRig
	placePoint
	placeDropper // dropper 1; dropper n is placeDropper + n − 1
)

// placeOf returns the place of a position.
func placeOf(position int) place { return placePoint + place(position) }

// position returns the position on the rig, nil for the whole rig.
func (p place) position() *int {
	if p < placePoint {
		return nil
	}
	n := int(p - placePoint)
	return &n
}

// construction tells whether the row says anything about how its fly hangs.
func (r *row) construction() bool {
	return r.fly != journal.RigPosition{} || r.tag != journal.StintPosition{}
}

// count names a column of counts.
type count int

// The columns of counts.
const (
	cHookups count = iota
	cFoul
	cUntold
	cLanded
	cLost
	cFairLost
	cBrokeOff
	cJunctionBreaks
	cSnags
	cTangles
	cTwists
	cWindKnots
	cNests
	cUntimed
	cChecks
	cTurns
	cFlyChanges
	cReties
	cMinutesLost
	numCounts
)

// tally holds a row's counts; nil: not given.
type tally [numCounts]*int

// n returns a count, 0 when it is not given.
func (t *tally) n(c count) int {
	if t[c] == nil {
		return 0
	}
	return *t[c]
}
