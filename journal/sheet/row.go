package sheet

import (
	"rigtally/journal"
	"rigtally/journal/exchange"
)

// row is one data row as understood.
type row struct {
	exchange.Row
	number int      // as a spreadsheet shows it
	cells  []string // as written
	bad    bool
	with   int // the bad row of the same stint that keeps this good one out; 0: none

	breaks  *float64 // minutes of the time from start to end in which nobody fished
	told    [exchange.NumCounts]telling
	assumed bool            // it was never said of what count was kept
	events  []journal.Event // that the tally makes

	pullID string // in a sheet of bench pulls
}

// construction tells whether the row says anything about how its fly hangs.
func (r *row) construction() bool {
	return r.Fly != journal.RigPosition{} || r.Tag != journal.StintPosition{}
}
