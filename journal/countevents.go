package journal

import "fmt"

// Counted is what was counted at one place on the rig through a stint: totals,
// which do not say which fish was which. Nil is not told, and so not zero.
type Counted struct {
	Hookups, Foul, Landed, Lost, BrokeOff *int
	FoulAtLeast                           bool      // the other fish may have been foul, too
	Untold                                *int      // the fish, of those not foul, whose hooking was not told
	FairLost                              *int      // the fish of Lost that were not foul
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
//     ending, so that lost and broken-off fish are fairly hooked as far as can be,
//     unless the fish lost are told apart. Where foul was not told, neither is any
//     fish's hooking;
//   - a break at the junction is taken to be a fish's, among those broken off or
//     else of unknown ending, and after these a snag's;
//   - the minutes lost stand on the first tangle that was timed, with the others at
//     none, else on the re-ties, of which there was one then.
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
		return &Miscounted{field, fmt.Sprintf("more landed, lost and broken off (%d, %d and %d) than hooked (%d)", landed, lost, broke, hooked), "correct the fish hooked or how they ended"}
	case foul > hooked:
		return &Miscounted{"foul_hookups", fmt.Sprintf("more foul (%d) than hooked (%d)", foul, hooked), "count foul-hooked fish among the hooked ones, too"}
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
	if err := m.fish(c, foul, hooked-foul, fish); err != nil {
		return err
	}
	return m.snags(c, junction-byFish)
}

// fish adds the fish by their ends, dealing out to these the foul ones and those,
// among the others, of which it was not told.
func (m *eventMaker) fish(c Counted, foul, others int, ends []Event) error {
	lost, foulLost := orNone(c.Lost), -1 // not told
	if c.FairLost != nil {
		foulLost = lost - *c.FairLost
		if foulLost < 0 || foulLost > foul || foul-foulLost > foul+others-lost {
			return &Miscounted{"fair_lost", fmt.Sprintf("fairly hooked and lost (%d) don't fit lost (%d) and foul (%d)", *c.FairLost, lost, foul), "correct them, or leave the column out"}
		}
	}
	notTold := orNone(c.Untold)
	if c.Untold == nil && (c.Foul == nil || c.FoulAtLeast) {
		notTold = others
	}
	if notTold > others {
		return &Miscounted{"untold_hookups", fmt.Sprintf("more fish not noted as fair or foul (%d) than not foul (%d)", notTold, others), "correct one of them"}
	}
	for _, end := range ends {
		f := min(foul, end.Count)
		switch {
		case foulLost < 0:
		case end.Ending == Lost:
			f, foulLost = foulLost, 0
		default:
			f = min(foul-foulLost, end.Count)
		}
		foul -= f
		u := min(notTold, end.Count-f)
		notTold -= u
		for _, part := range []struct {
			hooking Hooking
			n       int
		}{{Fair, end.Count - f - u}, {Foul, f}, {"", u}} {
			end.Kind, end.Hooking, end.Count = EventHookup, part.hooking, part.n
			m.add(end)
		}
	}
	return nil
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
		return &Miscounted{"snags", fmt.Sprintf("more snags that broke off (%d) than snags (%d)", broke, snags), "correct one of them"}
	case atJunction > snags-broke:
		return &Miscounted{"junction_breaks", fmt.Sprintf("more breaks at the junction (%d) than fish and snags that may have broken it", orNone(c.JunctionBreaks)),
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
	known, untimed, minutes := twists+windKnots+nests, orNone(c.Untimed), c.MinutesLost
	all := orNone(c.Tangles)
	if c.Tangles == nil {
		all = max(known, untimed)
	}
	switch {
	case known > all:
		return &Miscounted{"tangles", fmt.Sprintf("more twists, wind knots and nests (%d, %d and %d) than tangles (%d)", twists, windKnots, nests, all), "count each among the tangles, too"}
	case untimed > all:
		return &Miscounted{"untimed_tangles", fmt.Sprintf("more tangles without minutes (%d) than tangles (%d)", untimed, all), "correct one of them"}
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
		if all > 0 && reties == 0 {
			return &Miscounted{"untimed_tangles", fmt.Sprintf("minutes lost (%d) without a tangle to lose them on", *minutes), "correct one of them"}
		}
		tie.MinutesLost, tie.Count = minutes, max(1, reties)
	}
	m.add(tie)
	return nil
}

// checks adds the looks at the tag, whose turns must be told.
func (m *eventMaker) checks(c Counted) error {
	switch checks, turns := orNone(c.Checks), orNone(c.Turns); {
	case checks > 0 && c.Turns == nil:
		return &Miscounted{"checks", fmt.Sprintf("looks at the tag (%d) without the turns seen", checks), "add the turns seen in all of them, 0 for none"}
	case checks == 0 && turns > 0:
		return &Miscounted{"turns", fmt.Sprintf("turns (%d) without a look at the tag", turns), "add the checks that showed them"}
	case checks > 0:
		m.add(Event{Kind: EventCheck, Count: checks, Turns: &turns})
	}
	return nil
}

func (m *eventMaker) changes(c Counted) error {
	if c.CutMM != nil && orNone(c.FlyChanges) == 0 {
		return &Miscounted{"fly_changes", "a cut without a fly change", "add the fly changes"}
	}
	m.add(Event{Kind: EventFlyChange, Count: orNone(c.FlyChanges), CutMM: c.CutMM})
	return nil
}

// TangledOrTied reports whether anything is counted that minutes may have gone on.
func (c Counted) TangledOrTied() bool {
	return orNone(c.Tangles)+orNone(c.Twists)+orNone(c.WindKnots)+orNone(c.Nests)+orNone(c.Reties) > 0
}
