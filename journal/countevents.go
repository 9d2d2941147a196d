package journal

import "fmt"

// Counted is what was counted at one place on the rig through a stint: totals,
// which do not say which fish was which. Nil is not told, and so not zero.
type Counted struct {
	Hookups, Foul, Landed, Lost, BrokeOff *int
	Broke                                 []BrokeAt // the fish of BrokeOff whose place was told; not nil: places were told
	Snags                                 *int
	SnagBroke                             []BrokeAt // the snags that broke off, in the same way
	JunctionBreaks                        *int      // by fish and snags together, where it is not told which
	Tangles, Twists, WindKnots, Nests     *int
	Untimed                               *int // tangles that MinutesLost leaves out
	MinutesLost                           *int
	Checks, Turns                         *int
	FlyChanges, Reties                    *int
	CutMM                                 *float64 // at each fly change
}

// BrokeAt counts what broke off at a place; no place is one not told.
type BrokeAt struct {
	Place BreakPlace
	Count int
}

// Miscounted is an error of counts that do not add up.
type Miscounted struct {
	Field  string // which of them, as a column of our own table: "landed", "broke_off"
	What   string // is wrong with it; follows its name
	Remedy string
}

func (e *Miscounted) Error() string { return e.What + "; " + e.Remedy }

// Events turns counts into the events of a position; nil is the whole rig. What
// totals do not say is settled by convention:
//   - hookups that are not given are those that ended, or were foul if these are more;
//   - a fish hooked foul is taken to be one that was landed, else one of unknown
//     ending, so that lost and broken-off fish are fairly hooked as far as can be.
//     Where foul was not told, neither is any fish's hooking;
//   - a break at the junction is taken to be a fish's, among those broken off or
//     else of unknown ending, and after these a snag's;
//   - the minutes lost stand on the first tangle that was timed, with the others at
//     none, else on the re-ties.
func (c Counted) Events(position *int) ([]Event, error) {
	m := eventMaker{position: position}
	for _, part := range []func(Counted) error{m.hookups, m.tangles, m.checks, m.changes} {
		if err := part(c); err != nil {
			return nil, err
		}
	}
	return m.events, nil
}

// Recorded is the set of kinds that were told. Of what was counted as none, the
// details are known too.
func (c Counted) Recorded() Recorded {
	none := func(n *int) bool { return n != nil && *n == 0 }
	broke := c.BrokeOff != nil || c.Broke != nil
	kinds := c.Twists != nil && c.WindKnots != nil && c.Nests != nil
	r := RecordedOf()
	for kind, told := range map[Kind]bool{
		KindHookups: c.Hookups != nil || c.Landed != nil && c.Lost != nil && broke, KindLanded: c.Landed != nil, KindLost: c.Lost != nil, KindBrokeOff: broke,
		KindHooking: c.Foul != nil, KindBreakPlace: c.Broke != nil || c.JunctionBreaks != nil, KindSnags: c.Snags != nil || c.SnagBroke != nil,
		KindTangles: c.Tangles != nil || kinds, KindTangleKind: c.Twists != nil || c.WindKnots != nil || c.Nests != nil || none(c.Tangles),
		KindTurns: c.Turns != nil || none(c.Checks), KindChanges: c.FlyChanges != nil || c.Reties != nil, KindMinutesLost: c.MinutesLost != nil || none(c.Tangles),
	} {
		if told {
			r = r.With(kind)
		}
	}
	return r
}

type eventMaker struct {
	position *int
	events   []Event
}

// add appends an event that happened at least once.
func (m *eventMaker) add(e Event) {
	if e.Count > 0 {
		e.Position = m.position
		m.events = append(m.events, e)
	}
}

func orNone(n *int) int {
	if n == nil {
		return 0
	}
	return *n
}

func sumBroke(list []BrokeAt) (n int) {
	for _, b := range list {
		n += b.Count
	}
	return n
}

// hookups adds the fish and the snags, which share the breaks at the junction.
func (m *eventMaker) hookups(c Counted) error {
	hooked, foul, landed, lost, broke := orNone(c.Hookups), orNone(c.Foul), orNone(c.Landed), orNone(c.Lost), max(orNone(c.BrokeOff), sumBroke(c.Broke))
	if c.Hookups == nil {
		hooked = max(landed+lost+broke, foul)
	}
	switch ended := landed + lost + broke; {
	case ended > hooked:
		field := "landed"
		if landed <= hooked && lost > 0 {
			field = "lost"
		} else if landed <= hooked && broke > 0 {
			field = "broke_off"
		}
		return &Miscounted{field, fmt.Sprintf("%d landed, %d lost and %d broken off make more than the %d hooked", landed, lost, broke, hooked), "correct the fish hooked or how they ended"}
	case foul > hooked:
		return &Miscounted{"foul_hookups", fmt.Sprintf("%d foul make more than the %d hooked", foul, hooked), "count fish hooked foul among those hooked, too"}
	}
	open := hooked - landed - lost - broke
	junction := max(0, orNone(c.JunctionBreaks)-brokeAtJunction(c.Broke)-brokeAtJunction(c.SnagBroke))
	if c.BrokeOff == nil && c.Broke == nil {
		broke = min(junction, open)
		open -= broke
	}
	byFish := min(junction, broke-sumBroke(c.Broke))
	fish := []Event{{Count: landed, Ending: Landed}, {Count: open}, {Count: lost, Ending: Lost}, {Count: broke - sumBroke(c.Broke) - byFish, Ending: BrokeOff},
		{Count: byFish, Ending: BrokeOff, BreakPlace: BrokeJunction}}
	for _, b := range c.Broke {
		fish = append(fish, Event{Count: b.Count, Ending: BrokeOff, BreakPlace: b.Place})
	}
	m.hooked(fish, c.Foul)
	return m.snags(c, junction-byFish)
}

// hooked adds fish, and says which were hooked foul where that was told.
func (m *eventMaker) hooked(fish []Event, foul *int) {
	left := orNone(foul)
	for _, e := range fish {
		e.Kind = EventHookup
		if foul == nil {
			m.add(e)
			continue
		}
		outside := min(left, e.Count)
		left -= outside
		fair := e
		fair.Count, fair.Hooking = e.Count-outside, Fair
		e.Count, e.Hooking = outside, Foul
		m.add(fair)
		m.add(e)
	}
}

func brokeAtJunction(list []BrokeAt) (n int) {
	for _, b := range list {
		if b.Place == BrokeJunction || b.Place == BrokeTag {
			n += b.Count
		}
	}
	return n
}

// snags adds the snags, of which some broke the junction.
func (m *eventMaker) snags(c Counted, atJunction int) error {
	broke := sumBroke(c.SnagBroke)
	snags := orNone(c.Snags)
	if c.Snags == nil {
		snags = broke
	}
	switch {
	case broke > snags:
		return &Miscounted{"snags", fmt.Sprintf("%d snags that broke off make more than the %d snags", broke, snags), "correct one of them"}
	case atJunction > snags-broke:
		return &Miscounted{"junction_breaks", fmt.Sprintf("%d breaks at the junction are more than the fish and snags that may have broken it", orNone(c.JunctionBreaks)),
			"count what broke it among the fish hooked or the snags, too"}
	}
	m.add(Event{Kind: EventSnag, Count: snags - broke - atJunction})
	m.add(Event{Kind: EventSnag, Count: atJunction, Ending: BrokeOff, BreakPlace: BrokeJunction})
	for _, b := range c.SnagBroke {
		m.add(Event{Kind: EventSnag, Count: b.Count, Ending: BrokeOff, BreakPlace: b.Place})
	}
	return nil
}

// tangles adds tangles and re-ties, which share the minutes lost.
func (m *eventMaker) tangles(c Counted) error {
	twists, windKnots, nests, reties := orNone(c.Twists), orNone(c.WindKnots), orNone(c.Nests), orNone(c.Reties)
	known, all := twists+windKnots+nests, orNone(c.Tangles)
	if c.Tangles == nil {
		all = known
	}
	untimed, minutes := orNone(c.Untimed), c.MinutesLost
	switch {
	case known > all:
		return &Miscounted{"tangles", fmt.Sprintf("%d twists, %d wind knots and %d nests make more than the %d tangles", twists, windKnots, nests, all), "count each among the tangles, too"}
	case untimed > all:
		return &Miscounted{"untimed_tangles", fmt.Sprintf("%d tangles without minutes make more than the %d tangles", untimed, all), "correct one of them"}
	case minutes == nil:
		untimed = all
	}
	timed := all - untimed
	for _, kind := range []struct {
		kind TangleKind
		n    int
	}{{Twist, twists}, {WindKnot, windKnots}, {Nest, nests}, {"", all - known}} {
		if n := min(kind.n, timed); n > 0 {
			timed -= n
			kind.n -= n
			m.add(Event{Kind: EventTangle, Count: n, TangleKind: kind.kind, MinutesLost: minutes})
			minutes = new(int) // told once, of all that were timed
		}
		m.add(Event{Kind: EventTangle, Count: kind.n, TangleKind: kind.kind})
	}
	tie := Event{Kind: EventRetie, Count: reties}
	if orNone(minutes) > 0 {
		if reties == 0 {
			return &Miscounted{"minutes_lost", fmt.Sprintf("%d minutes were lost, but no tangle or re-tie is counted that they went on", *minutes), "count it too"}
		}
		tie.MinutesLost = minutes
	}
	m.add(tie)
	return nil
}

// checks adds the looks at the tag, whose turns must be told.
func (m *eventMaker) checks(c Counted) error {
	switch checks, turns := orNone(c.Checks), orNone(c.Turns); {
	case checks > 0 && c.Turns == nil:
		return &Miscounted{"checks", fmt.Sprintf("%d looks at the tag are counted, but not the turns seen", checks), "add the turns seen in all of them, 0 if there were none"}
	case checks == 0 && turns > 0:
		return &Miscounted{"turns", fmt.Sprintf("%d turns were seen, but no look at the tag is counted", turns), "add the checks that they were seen at"}
	case checks > 0:
		m.add(Event{Kind: EventCheck, Count: checks, Turns: &turns})
	}
	return nil
}

func (m *eventMaker) changes(c Counted) error {
	if c.CutMM != nil && orNone(c.FlyChanges) == 0 {
		return &Miscounted{"fly_changes", "a cut is given, but no fly change is counted", "add the fly changes"}
	}
	m.add(Event{Kind: EventFlyChange, Count: orNone(c.FlyChanges), CutMM: c.CutMM})
	return nil
}
