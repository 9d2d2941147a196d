package exchange

import (
	"fmt"

	"rigtally/journal"
)

// events turns a row's counts into the events of its position; nil is the whole
// rig. The counts are totals that do not say which fish was which, so that some
// is settled by convention:
//   - hookups that are not given are those that ended;
//   - a fish hooked foul is taken to be one that was landed, else one of unknown
//     ending, so that lost and broken-off fish are fairly hooked as far as can be,
//     unless the fish lost are told apart;
//   - where foul was not told apart, no fish is taken to be fairly hooked;
//   - a break at the junction is taken to be a fish's, among those broken off or
//     else of unknown ending, and after these a snag's.
func (t *tally) events(position *int, as eventRules) ([]journal.Event, error) {
	b := &eventMaker{position: position, eventRules: as}
	for _, part := range []func(*tally) error{b.hookups, b.tangles} {
		if err := part(t); err != nil {
			return nil, err
		}
	}
	if err := b.checks(t); err != nil {
		return nil, err
	}
	b.add(journal.Event{Kind: journal.EventFlyChange, Count: t.n(cFlyChanges)})
	return b.events, nil
}

// eventRules says what a row tells besides its counts.
type eventRules struct {
	foulTold    bool // fish hooked foul were told apart from the others
	checkColumn bool // a column counts the checks
	noTurns     bool // no count was kept of checks or turns
}

type eventMaker struct {
	eventRules
	position *int
	events   []journal.Event
}

// add appends an event that happened at least once.
func (b *eventMaker) add(e journal.Event) {
	if e.Count > 0 {
		e.Position = b.position
		b.events = append(b.events, e)
	}
}

// hookups adds the fish and the snags, which share the breaks at the junction.
func (b *eventMaker) hookups(t *tally) error {
	hooked, foul, landed, lost, broke := t.n(cHookups), t.n(cFoul), t.n(cLanded), t.n(cLost), t.n(cBrokeOff)
	if t[cHookups] == nil {
		hooked = max(landed+lost+broke, foul)
	}
	if ended := landed + lost + broke; ended > hooked {
		field := "landed"
		switch {
		case landed > hooked:
		case lost > 0:
			field = "lost"
		case broke > 0:
			field = "broke_off"
		}
		return &problem{field: field, what: fmt.Sprintf("doesn't add up: %d landed, %d lost and %d broken off of %d hooked", landed, lost, broke, hooked),
			remedy: "correct the fish hooked or how they ended"}
	}
	if foul > hooked {
		return &problem{field: "foul_hookups", what: fmt.Sprintf("is more fish hooked foul than the %d hooked at all", hooked), remedy: "count fish hooked foul among those hooked, too"}
	}
	open := hooked - landed - lost - broke
	breaks, snags := t.n(cJunctionBreaks), t.n(cSnags)
	if t[cBrokeOff] == nil {
		broke = min(breaks, open)
		open -= broke
	}
	fishBreaks := min(breaks, broke)
	snagBreaks := breaks - fishBreaks
	if snagBreaks > snags {
		return &problem{field: "junction_breaks", what: fmt.Sprintf("is more breaks than the %d fish and %d snags that may have broken it", fishBreaks, snags),
			remedy: "count what broke it among the fish hooked or the snags, too"}
	}
	if err := b.fish(t, foul, hooked-foul, []fishEnd{
		{landed, journal.Landed, ""},
		{open, "", ""},
		{lost, journal.Lost, ""},
		{broke - fishBreaks, journal.BrokeOff, ""},
		{fishBreaks, journal.BrokeOff, journal.BrokeJunction},
	}); err != nil {
		return err
	}
	b.add(journal.Event{Kind: journal.EventSnag, Count: snags - snagBreaks})
	b.add(journal.Event{Kind: journal.EventSnag, Count: snagBreaks, Ending: journal.BrokeOff, BreakPlace: journal.BrokeJunction})
	return nil
}

// fishEnd is how many fish ended in one way.
type fishEnd struct {
	n      int
	ending journal.Ending
	place  journal.BreakPlace
}

// fish adds the fish by their ends, dealing out to these the foul ones and those,
// among the others, of which it was not told.
func (b *eventMaker) fish(t *tally, foul, others int, ends []fishEnd) error {
	foulLost := -1 // not told
	if t[cFairLost] != nil {
		foulLost = t.n(cLost) - t.n(cFairLost)
		if foulLost < 0 || foulLost > foul || foul-foulLost > foul+others-t.n(cLost) {
			return &problem{field: "fair_lost", what: fmt.Sprintf("doesn't go with %d lost and %d hooked foul", t.n(cLost), foul), remedy: "correct them, or leave the column out"}
		}
	}
	notTold := 0
	switch {
	case t[cUntold] != nil:
		notTold = t.n(cUntold)
	case !b.foulTold:
		notTold = others
	}
	if notTold > others {
		return &problem{field: "untold_hookups", what: fmt.Sprintf("is more than the %d fish not hooked foul", others), remedy: "correct one of them"}
	}
	for _, end := range ends {
		f := min(foul, end.n)
		switch {
		case foulLost < 0:
		case end.ending == journal.Lost:
			f, foulLost = foulLost, 0
		default:
			f = min(foul-foulLost, end.n)
		}
		foul -= f
		u := min(notTold, end.n-f)
		notTold -= u
		for _, e := range []journal.Event{{Count: end.n - f - u, Hooking: journal.Fair}, {Count: f, Hooking: journal.Foul}, {Count: u}} {
			e.Kind, e.Ending, e.BreakPlace = journal.EventHookup, end.ending, end.place
			b.add(e)
		}
	}
	return nil
}

// tangles adds tangles and re-ties, which share the minutes lost: these stand
// on the first tangle that was timed, else on a re-tie.
func (b *eventMaker) tangles(t *tally) error {
	twists, windKnots, nests := t.n(cTwists), t.n(cWindKnots), t.n(cNests)
	known := twists + windKnots + nests
	untimed := t.n(cUntimed)
	all := t.n(cTangles)
	if t[cTangles] == nil {
		all = max(known, untimed)
	}
	if known > all {
		return &problem{field: "tangles", what: fmt.Sprintf("is less than the %d twists, wind knots and nests", known), remedy: "count every twist, wind knot and nest among the tangles, too"}
	}
	minutes := t[cMinutesLost]
	if untimed > all {
		return &problem{field: "untimed_tangles", what: fmt.Sprintf("is more than the %d tangles", all), remedy: "correct one of them"}
	}
	if minutes == nil {
		untimed = all
	}
	timed := all - untimed
	for _, kind := range []struct {
		kind journal.TangleKind
		n    int
	}{{journal.Twist, twists}, {journal.WindKnot, windKnots}, {journal.Nest, nests}, {"", all - known}} {
		n := min(kind.n, timed)
		if n > 0 {
			timed -= n
			b.add(journal.Event{Kind: journal.EventTangle, Count: n, TangleKind: kind.kind, MinutesLost: minutes})
			minutes = new(int) // the cell is the total of all that were timed
		}
		b.add(journal.Event{Kind: journal.EventTangle, Count: kind.n - n, TangleKind: kind.kind})
	}
	reties := journal.Event{Kind: journal.EventRetie, Count: t.n(cReties)}
	if minutes != nil && *minutes > 0 {
		if all > 0 && reties.Count == 0 {
			return &problem{field: "untimed_tangles", what: "leaves no tangle that the minutes lost could belong to", remedy: "correct one of them"}
		}
		reties.MinutesLost, reties.Count = minutes, max(1, reties.Count)
	}
	b.add(reties)
	return nil
}

// checks adds the looks at the tag. Turns without a column of checks are those of one check.
func (b *eventMaker) checks(t *tally) error {
	checks, turns := t.n(cChecks), t[cTurns]
	switch {
	case b.noTurns:
		return nil
	case checks > 0 && turns == nil:
		return &problem{field: "checks", what: "counts checks without their turns", remedy: "write the turns that were seen in all, 0 if none, or ? if they were not counted"}
	case turns != nil && !b.checkColumn:
		checks = 1
	case checks == 0 && turns != nil && *turns > 0:
		return &problem{field: "turns", what: "counts turns without a check", remedy: "write how many checks they were seen at"}
	}
	b.add(journal.Event{Kind: journal.EventCheck, Count: checks, Turns: turns})
	return nil
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
