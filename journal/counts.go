package journal

// Count names one of the tallies kept with a stint and with each of its positions.
type Count int

// The tallies. Each is a column of the tables stint, stint_position and tag_spell.
const (
	CountHookups  Count = iota // fish on
	CountFoul                  // hooked outside the mouth
	CountLanded                //
	CountLost                  // the hook came out
	CountFairLost              // … of a fish fairly hooked
	CountBrokeOff              // fish broken off, at any place
	CountBrokeJunction
	CountBrokeTag
	CountBrokeFlyKnot
	CountBrokePointTippet
	CountBrokeMainTippet
	CountBrokeAboveSighter
	CountSnags
	CountTangles
	CountTwists
	CountWindKnots
	CountNests
	CountUntimed // tangles whose lost minutes were not noted
	CountChecks
	CountTurns
	CountFlyChanges
	CountReties
	CountMinutesLost
	CountLoads         // hookups and snags that loaded the position's junction
	CountHookingUntold // hookups of which fair or foul was not told
	CountKindUntold    // tangles of which the kind was not told
	CountPlaceUntold   // breaks, of fish or on snags, of which the place was not told
	numCounts
)

// columns are the tallies' names in the tables, in the order of the constants.
var columns = [numCounts]string{
	"hookups", "foul", "landed", "lost", "fair_lost", "broke_off",
	"broke_junction", "broke_tag", "broke_fly_knot", "broke_point_tippet", "broke_main_tippet", "broke_above_sighter",
	"snags", "tangles", "twists", "wind_knots", "nests", "untimed",
	"checks", "turns", "fly_changes", "reties", "minutes_lost", "loads", "hooking_untold", "kind_untold", "place_untold",
}

// AllCounts lists every tally, in the order of Counts.
func AllCounts() []Count {
	all := make([]Count, numCounts)
	for i := range all {
		all[i] = Count(i)
	}
	return all
}

// Column returns the tally's column name.
func (c Count) Column() string { return columns[c] }

// Counts holds every tally of a stint, a position or a spell. They are whole
// numbers, except in a spell, which may hold shares of events of unknown moment.
type Counts [numCounts]float64

// Int returns one tally as a whole number.
func (c Counts) Int(n Count) int { return int(c[n]) }

func (c *Counts) add(other Counts, weight float64) {
	for i, n := range other {
		c[i] += weight * n
	}
}

// Tally is what a stint's events add up to.
type Tally struct {
	Stint     Counts         // the whole rig: every event
	Positions map[int]Counts // by position: the events that belong to it
	Spells    []Spell        // only for tags that were cut or re-tied in the stint
}

// Spell is a part of a stint through which a tag kept its length.
type Spell struct {
	Position int
	Ordinal  int     // from 0 in order of time
	TagMM    float64 // length through the spell
	Share    float64 // of the stint's minutes, 0–1
	Counts   Counts
}

// Seconds are those of the stint that the spell lasted, nil when not noted.
func (sp Spell) Seconds(st Stint) *float64 {
	if st.Minutes == nil {
		return nil
	}
	s := float64(*st.Seconds()) * sp.Share
	return &s
}

// TallyStint counts a stint's events for the rig it was fished with.
//
// An event on no position belongs to the only dropper of a rig that has just
// one, if it is a tangle, a check, a fly change, a re-tie or a break in the
// junction or its tag; otherwise it counts for the rig alone. A hookup or snag
// loads the junctions at and above its position, since the pull runs up the
// leader; on a rig with one dropper it always loads that one.
func TallyStint(rig Rig, st Stint) (Tally, error) {
	t := Tally{Positions: make(map[int]Counts, len(rig.Positions))}
	for _, p := range rig.Positions {
		t.Positions[p.Position] = Counts{}
	}
	for _, e := range st.Events {
		whole := e.counts()
		if e.loadsJunction() {
			whole[CountLoads] = float64(e.Count)
		}
		t.Stint.add(whole, 1)
		for position, counts := range e.Deal(rig) {
			sum := t.Positions[position]
			sum.add(counts, 1)
			t.Positions[position] = sum
		}
	}
	for _, p := range rig.Droppers() {
		spells, err := tagSpells(rig, st, p)
		if err != nil {
			return Tally{}, err
		}
		t.Spells = append(t.Spells, spells...)
	}
	return t, nil
}

func (e Event) loadsJunction() bool { return e.Kind == EventHookup || e.Kind == EventSnag }

// counts returns what one event adds, loads aside.
func (e Event) counts() Counts {
	var c Counts
	n := float64(e.Count)
	switch e.Kind {
	case EventHookup:
		c[CountHookups] = n
		switch e.Hooking {
		case Foul:
			c[CountFoul] = n
		case "":
			c[CountHookingUntold] = n
		}
		switch e.Ending {
		case Landed:
			c[CountLanded] = n
		case Lost:
			c[CountLost] = n
			if e.Hooking != Foul {
				c[CountFairLost] = n
			}
		case BrokeOff:
			c[CountBrokeOff] = n
		}
	case EventSnag:
		c[CountSnags] = n
	case EventTangle:
		c[CountTangles] = n
		switch e.TangleKind {
		case Twist:
			c[CountTwists] = n
		case WindKnot:
			c[CountWindKnots] = n
		case Nest:
			c[CountNests] = n
		default:
			c[CountKindUntold] = n
		}
		if e.MinutesLost == nil {
			c[CountUntimed] = n
		}
	case EventCheck:
		c[CountChecks] = n
		if e.Turns != nil {
			c[CountTurns] = float64(*e.Turns)
		}
	case EventFlyChange:
		c[CountFlyChanges] = n
	case EventRetie:
		c[CountReties] = n
	}
	if place, ok := e.BreakPlace.Count(); ok {
		c[place] = n
	} else if e.Ending == BrokeOff {
		c[CountPlaceUntold] = n
	}
	if e.MinutesLost != nil {
		c[CountMinutesLost] = float64(*e.MinutesLost)
	}
	return c
}

func (b BreakPlace) Count() (Count, bool) {
	switch b {
	case BrokeJunction:
		return CountBrokeJunction, true
	case BrokeTag:
		return CountBrokeTag, true
	case BrokeFlyKnot:
		return CountBrokeFlyKnot, true
	case BrokePointTippet:
		return CountBrokePointTippet, true
	case BrokeMainTippet:
		return CountBrokeMainTippet, true
	case BrokeAboveSighter:
		return CountBrokeAboveSighter, true
	}
	return 0, false
}

// Deal deals an event's counts out to the positions they belong to.
func (e Event) Deal(rig Rig) map[int]Counts {
	out := map[int]Counts{}
	counts := e.counts()
	droppers := rig.Droppers()

	// A break in the junction or tag belongs to that junction, wherever the fish was.
	if c, ok := e.BreakPlace.Count(); ok && (c == CountBrokeJunction || c == CountBrokeTag) {
		if at, ok := e.BrokenAt(droppers); ok {
			var broke Counts
			broke[c] = counts[c]
			out[at] = broke
		}
		counts[c] = 0
	}
	home, placed := 0, false
	switch {
	case e.Position != nil:
		home, placed = *e.Position, true
	case len(droppers) == 1 && !e.loadsJunction():
		home, placed = droppers[0].Position, true
	}
	if placed {
		sum := out[home]
		sum.add(counts, 1)
		out[home] = sum
	}
	if e.loadsJunction() {
		for _, d := range droppers {
			below := e.Position != nil && *e.Position <= d.Position
			if below || (e.Position == nil && len(droppers) == 1) {
				sum := out[d.Position]
				sum[CountLoads] += float64(e.Count)
				out[d.Position] = sum
			}
		}
	}
	return out
}

// BrokenAt returns the dropper whose junction or tag an event broke.
func (e Event) BrokenAt(droppers []RigPosition) (int, bool) {
	if e.Position != nil && *e.Position > 0 {
		return *e.Position, true
	}
	if len(droppers) == 1 {
		return droppers[0].Position, true
	}
	return 0, false
}
