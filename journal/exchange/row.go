package exchange

import (
	"rigtally/journal"
)

// Row is a row of the flat CSV, or as much of one as a spreadsheet tells: of a fly through a
// stint, or of the whole rig. Pointers may be shared between rows, those of the catalogue too:
// there are many rows, and what they say of their session and rig is mostly the same.
type Row struct {
	Session, Angler, Guide, Water, Beat, Zone, Rig string
	Day                                            journal.Date
	Start, End                                     *int // seconds after midnight
	Stint                                          *int

	Catalogue

	Place     Place
	Tally     Tally
	Uncounted map[journal.Count]int // what happened of kinds of which no count was kept

	Pull *journal.BenchPull // of a sheet of pulls, in the place of all this

	fairHookups, loads, failures *int           // of a row to be written
	taken                        *journal.Taken // as these
}

// Catalogue is what a row tells of what the catalogue has.
type Catalogue struct {
	Outing *journal.Session // conditions and notes
	Leader *journal.Rig
	Fished *journal.Stint
	Fly    *journal.RigPosition // position aside
	Tag    *journal.StintPosition
}

// Untold is a Catalogue of its own, which tells nothing yet.
func Untold() Catalogue {
	return Catalogue{&journal.Session{}, &journal.Rig{}, &journal.Stint{}, &journal.RigPosition{}, &journal.StintPosition{}}
}

// Place is the position on the rig that a row describes.
type Place int

// Besides the positions themselves, a row may be about the whole rig.
const (
	PlaceMissing Place = iota // the cell is empty or there is no such column
	PlaceRig
	PlacePoint
	PlaceDropper // dropper 1; dropper n is placeDropper + n − 1
)

// PlaceOf returns the place of a position.
func PlaceOf(position int) Place { return PlacePoint + Place(position) }

// Position returns the Position on the rig, nil for the whole rig.
func (p Place) Position() *int {
	if p < PlacePoint {
		return nil
	}
	n := int(p - PlacePoint)
	return &n
}

// Tally holds a row's counts; nil: not given.
type Tally [len(journal.Counts{})]*int

// N returns a count, 0 when it is not given.
func (t *Tally) N(c journal.Count) int {
	if t[c] == nil {
		return 0
	}
	return *t[c]
}
