package exchange

import (
	"fmt"
	"slices"

	"rigtally/journal"
)

// TallyOf adds up the events of one position of a rig; nil is the whole rig, which
// has those of no fly in particular that belong to none. Every count is given but,
// when no tangle was timed, the minutes lost, and without a check the turns.
func TallyOf(events []journal.Event, rig journal.Rig, position *int) (t Tally, any bool) {
	var sum [NumCounts]int
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
	if !timed && sum[CountTangles] > 0 {
		t[CountMinutesLost] = nil
	}
	if sum[CountChecks] == 0 {
		t[CountTurns] = nil
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

func addEvent(sum *[NumCounts]int, e journal.Event) {
	switch e.Kind {
	case journal.EventHookup:
		sum[CountHookups] += e.Count
		switch e.Hooking {
		case journal.Foul:
			sum[CountFoul] += e.Count
		case "":
			sum[CountUntold] += e.Count
		}
		if e.Ending == journal.Lost && e.Hooking != journal.Foul {
			sum[CountFairLost] += e.Count
		}
		switch e.Ending {
		case journal.Landed:
			sum[CountLanded] += e.Count
		case journal.Lost:
			sum[CountLost] += e.Count
		case journal.BrokeOff:
			sum[CountBrokeOff] += e.Count
		}
	case journal.EventSnag:
		sum[CountSnags] += e.Count
	case journal.EventTangle:
		sum[CountTangles] += e.Count
		switch e.TangleKind {
		case journal.Twist:
			sum[CountTwists] += e.Count
		case journal.WindKnot:
			sum[CountWindKnots] += e.Count
		case journal.Nest:
			sum[CountNests] += e.Count
		}
		if e.MinutesLost == nil {
			sum[CountUntimed] += e.Count
		}
	case journal.EventCheck:
		sum[CountChecks] += e.Count
		if e.Turns != nil {
			sum[CountTurns] += *e.Turns
		}
	case journal.EventFlyChange:
		sum[CountFlyChanges] += e.Count
	case journal.EventRetie:
		sum[CountReties] += e.Count
	}
	if e.BreakPlace == journal.BrokeJunction || e.BreakPlace == journal.BrokeTag {
		sum[CountJunctionBreaks] += e.Count
	}
	if e.MinutesLost != nil {
		sum[CountMinutesLost] += *e.MinutesLost
	}
}

// The column of a flat CSV that says whether it was said of what count was kept,
// and its words.
const (
	CountsKept  = "counts_kept"
	KeptNoted   = "noted"
	KeptAssumed = "assumed"
)

// ColumnsOf are the columns that tell of a kind: those without which it is not
// recorded, and those that must be told too where the file has them.
func ColumnsOf(k journal.Kind) (needed, further []Count) {
	switch k {
	case journal.KindHookups:
		return []Count{CountHookups}, nil
	case journal.KindLanded:
		return []Count{CountLanded}, nil
	case journal.KindLost:
		return []Count{CountLost}, nil
	case journal.KindBrokeOff:
		return []Count{CountBrokeOff}, nil
	case journal.KindHooking:
		return []Count{CountFoul}, nil
	case journal.KindBreakPlace:
		return []Count{CountJunctionBreaks}, nil
	case journal.KindSnags:
		return []Count{CountSnags}, nil
	case journal.KindTangles:
		return []Count{CountTangles}, nil
	case journal.KindTangleKind:
		return []Count{CountTwists}, []Count{CountWindKnots, CountNests}
	case journal.KindTurns:
		return []Count{CountTurns}, []Count{CountChecks}
	case journal.KindChanges:
		return []Count{CountFlyChanges, CountReties}, nil
	case journal.KindMinutesLost:
		return []Count{CountMinutesLost}, nil
	}
	return nil, nil
}

// Kind is the kind of event that the count is of.
func (c Count) Kind() journal.Kind {
	switch c {
	case CountUntold:
		return journal.KindHooking
	case CountFairLost:
		return journal.KindLost
	case CountUntimed:
		return journal.KindMinutesLost
	}
	for _, k := range journal.Kinds() {
		needed, further := ColumnsOf(k)
		if slices.Contains(needed, c) || slices.Contains(further, c) {
			return k
		}
	}
	panic(fmt.Sprintf("count %d has no kind", c))
}
