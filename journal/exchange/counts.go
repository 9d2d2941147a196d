package exchange

import "rigtally/journal"

// TallyOf adds up the events of one position of a rig; nil is the whole rig, which
// has those of no fly in particular that belong to none. Every count is given but,
// when no tangle was timed, the minutes lost, and without a check the turns.
func TallyOf(events []journal.Event, rig journal.Rig, position *int) (t Tally, any bool) {
	var sum journal.Counts
	timed := false
	for _, e := range events {
		at := placed(e, rig)
		if (at == nil) != (position == nil) || position != nil && *at != *position {
			continue
		}
		any = true
		for c, n := range e.Counts() {
			sum[c] += n
		}
		timed = timed || e.MinutesLost != nil && (e.Kind == journal.EventTangle || *e.MinutesLost > 0)
	}
	sum[journal.CountBrokeJunction] += sum[journal.CountBrokeTag] // which one column tells
	for c := range t {
		t[c] = new(sum.Int(journal.Count(c)))
	}
	if !timed && *t[journal.CountTangles] > 0 {
		t[journal.CountMinutesLost] = nil
	}
	if *t[journal.CountChecks] == 0 {
		t[journal.CountTurns] = nil
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

// The column of a flat CSV that says whether it was said of what count was kept,
// and its words.
const (
	CountsKept  = "counts_kept"
	KeptNoted   = "noted"
	KeptAssumed = "assumed"
)

// ColumnsOf are the columns that tell of a kind: those without which it is not
// recorded, and those that must be told too where the file has them.
func ColumnsOf(k journal.Kind) (needed, further []journal.Count) {
	switch k {
	case journal.KindTangleKind:
		return []journal.Count{journal.CountTwists}, []journal.Count{journal.CountWindKnots, journal.CountNests}
	case journal.KindTurns:
		return []journal.Count{journal.CountTurns}, []journal.Count{journal.CountChecks}
	case journal.KindChanges:
		return []journal.Count{journal.CountFlyChanges, journal.CountReties}, nil
	}
	return []journal.Count{countOf[k]}, nil
}

// countOf is the one column that tells of a kind.
var countOf = map[journal.Kind]journal.Count{
	journal.KindHookups: journal.CountHookups, journal.KindLanded: journal.CountLanded, journal.KindLost: journal.CountLost, journal.KindBrokeOff: journal.CountBrokeOff,
	journal.KindHooking: journal.CountFoul, journal.KindBreakPlace: journal.CountBrokeJunction, journal.KindSnags: journal.CountSnags,
	journal.KindTangles: journal.CountTangles, journal.KindMinutesLost: journal.CountMinutesLost,
}

// kindOf is the kind of event that a count is of.
func kindOf(c journal.Count) journal.Kind {
	if c == journal.CountUntimed {
		return journal.KindMinutesLost
	}
	kinds := c.Kinds()
	return kinds[len(kinds)-1] // its own, behind that of which it is a detail
}
