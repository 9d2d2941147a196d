package sheet

import (
	"errors"

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
	told    [len(journal.Counts{})]telling
	assumed bool            // it was never said of what count was kept
	events  []journal.Event // that the tally makes

	pullID string // in a sheet of bench pulls
}

// construction tells whether the row says anything about how its fly hangs.
func (r *row) construction() bool {
	return r.Fly != journal.RigPosition{} || r.Tag != journal.StintPosition{}
}

// events turns a row's counts into the events of its position; nil is the whole
// rig. journal.Counted settles what totals do not say.
func eventsOf(t *exchange.Tally, position *int, as eventRules) ([]journal.Event, error) {
	c := journal.Counted{Hookups: t[journal.CountHookups], Foul: t[journal.CountFoul], Landed: t[journal.CountLanded], Lost: t[journal.CountLost], BrokeOff: t[journal.CountBrokeOff], Untold: t[journal.CountHookingUntold], FairLost: t[journal.CountFairLost],
		FoulAtLeast: !as.foulTold, JunctionBreaks: t[journal.CountBrokeJunction], Snags: t[journal.CountSnags], Tangles: t[journal.CountTangles], Twists: t[journal.CountTwists], WindKnots: t[journal.CountWindKnots], Nests: t[journal.CountNests],
		Untimed: t[journal.CountUntimed], MinutesLost: t[journal.CountMinutesLost], Checks: t[journal.CountChecks], Turns: t[journal.CountTurns], FlyChanges: t[journal.CountFlyChanges], Reties: t[journal.CountReties]}
	if as.foulTold && c.Foul == nil {
		c.Foul = new(int)
	}
	switch {
	case as.noTurns:
		c.Checks, c.Turns = nil, nil
	case c.Turns != nil && !as.checkColumn:
		c.Checks = new(1) // turns without a column of checks are those of one check
	}
	events, err := c.Events(position)
	var wrong *journal.Miscounted
	if errors.As(err, &wrong) {
		if wrong.Field == "checks" {
			wrong.Remedy += ", or ? if they were not counted"
		}
		return nil, &problem{field: wrong.Field, what: "doesn't add up: " + wrong.What, remedy: wrong.Remedy}
	}
	return events, err
}

// eventRules says what a row tells besides its counts.
type eventRules struct {
	foulTold    bool // fish hooked foul were told apart from the others
	checkColumn bool // a column counts the checks
	noTurns     bool // no count was kept of checks or turns
}
