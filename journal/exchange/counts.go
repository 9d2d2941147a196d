package exchange

import (
	"errors"

	"rigtally/journal"
)

// events turns a row's counts into the events of its position; nil is the whole
// rig. journal.Counted settles what totals do not say.
func (t *tally) events(position *int, as eventRules) ([]journal.Event, error) {
	c := journal.Counted{Hookups: t[cHookups], Foul: t[cFoul], Landed: t[cLanded], Lost: t[cLost], BrokeOff: t[cBrokeOff], Untold: t[cUntold], FairLost: t[cFairLost],
		FoulAtLeast: !as.foulTold, JunctionBreaks: t[cJunctionBreaks], Snags: t[cSnags], Tangles: t[cTangles], Twists: t[cTwists], WindKnots: t[cWindKnots], Nests: t[cNests],
		Untimed: t[cUntimed], MinutesLost: t[cMinutesLost], Checks: t[cChecks], Turns: t[cTurns], FlyChanges: t[cFlyChanges], Reties: t[cReties]}
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

// tallyOf adds up the events of one position of a rig; nil is the whole rig, which
// has those of no fly in particular that belong to none. Every count is given but,
// when no tangle was timed, the minutes lost, and without a check the turns.
func tallyOf(events []journal.Event, rig journal.Rig, position *int) (t tally, any bool) {
	var sum [numCounts]int
	timed := false
	for _, e := range events {
		at := placed(e, rig)
		if (at == nil) != (position == nil) || position != nil && *at != *position {
			continue
		}
		any = true
		addEvent(&sum, e)
		timed = timed || e.MinutesLost != nil && (e.Kind == journal.EventTangle || *e.MinutesLost > 0)
	}
	for c := range t {
		t[c] = &sum[c]
	}
	if !timed && sum[cTangles] > 0 {
		t[cMinutesLost] = nil
	}
	if sum[cChecks] == 0 {
		t[cTurns] = nil
	}
	return t, any
}

// placed is the position that an event belongs to: its own or, of what is no pull at
// the hook, the only dropper, as journal.TallyStint has it.
func placed(e journal.Event, rig journal.Rig) *int {
	pull := e.Kind == journal.EventHookup || e.Kind == journal.EventSnag
	if droppers := rig.Droppers(); e.Position == nil && !pull && len(droppers) == 1 {
		return &droppers[0].Position
	}
	return e.Position
}

func addEvent(sum *[numCounts]int, e journal.Event) {
	switch e.Kind {
	case journal.EventHookup:
		sum[cHookups] += e.Count
		switch e.Hooking {
		case journal.Foul:
			sum[cFoul] += e.Count
		case "":
			sum[cUntold] += e.Count
		}
		if e.Ending == journal.Lost && e.Hooking != journal.Foul {
			sum[cFairLost] += e.Count
		}
		switch e.Ending {
		case journal.Landed:
			sum[cLanded] += e.Count
		case journal.Lost:
			sum[cLost] += e.Count
		case journal.BrokeOff:
			sum[cBrokeOff] += e.Count
		}
	case journal.EventSnag:
		sum[cSnags] += e.Count
	case journal.EventTangle:
		sum[cTangles] += e.Count
		switch e.TangleKind {
		case journal.Twist:
			sum[cTwists] += e.Count
		case journal.WindKnot:
			sum[cWindKnots] += e.Count
		case journal.Nest:
			sum[cNests] += e.Count
		}
		if e.MinutesLost == nil {
			sum[cUntimed] += e.Count
		}
	case journal.EventCheck:
		sum[cChecks] += e.Count
		if e.Turns != nil {
			sum[cTurns] += *e.Turns
		}
	case journal.EventFlyChange:
		sum[cFlyChanges] += e.Count
	case journal.EventRetie:
		sum[cReties] += e.Count
	}
	if e.BreakPlace == journal.BrokeJunction || e.BreakPlace == journal.BrokeTag {
		sum[cJunctionBreaks] += e.Count
	}
	if e.MinutesLost != nil {
		sum[cMinutesLost] += *e.MinutesLost
	}
}
