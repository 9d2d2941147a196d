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
		whole := e.Counts()
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

// Counts returns what one event adds, loads aside.
func (e Event) Counts() Counts {
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
	counts := e.Counts()
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

// Total is what some stints add up to of one kind of event. Where no count was kept, none is no
// zero, and some are some at least.
type Total struct {
	N      int // as far as it was written down
	Kept   int // stints of which count was kept, or is assumed to have been
	Stints int // of so many
}

// Add takes a stint in.
func (t *Total) Add(n int, kept bool) {
	t.N += n
	t.Stints++
	if kept {
		t.Kept++
	}
}

// Whole reports whether count was kept in every stint.
func (t Total) Whole() bool { return t.Kept == t.Stints }

// Known is the number where it says something: nil where no count was kept and nothing noted.
func (t Total) Known() *int {
	if t.N == 0 && t.Kept == 0 && t.Stints > 0 {
		return nil
	}
	return &t.N
}

// Kinds are those of which count must have been kept for none of a tally to be a zero.
func (c Count) Kinds() []Kind {
	switch c {
	case CountHookups:
		return []Kind{KindHookups}
	case CountFoul, CountHookingUntold:
		return []Kind{KindHookups, KindHooking}
	case CountLanded:
		return []Kind{KindLanded}
	case CountLost, CountFairLost:
		return []Kind{KindLost}
	case CountBrokeOff:
		return []Kind{KindBrokeOff}
	case CountSnags:
		return []Kind{KindSnags}
	case CountTangles, CountUntimed:
		return []Kind{KindTangles}
	case CountTwists, CountWindKnots, CountNests, CountKindUntold:
		return []Kind{KindTangles, KindTangleKind}
	case CountChecks, CountTurns:
		return []Kind{KindTurns}
	case CountFlyChanges, CountReties:
		return []Kind{KindChanges}
	case CountMinutesLost:
		return []Kind{KindMinutesLost}
	case CountLoads:
		return []Kind{KindHookups, KindSnags}
	}
	return []Kind{KindBreakPlace} // the places, told or not
}

// Noted is how often something of the kind was noted in what some stints count, and against
// what: the fish hooked, the tangles or the breaks that it is a detail of, or else the hours.
func (k Kind) Noted(c Counts, hours float64) (n, of float64) {
	places := c[CountBrokeJunction] + c[CountBrokeTag] + c[CountBrokeFlyKnot] + c[CountBrokePointTippet] + c[CountBrokeMainTippet] + c[CountBrokeAboveSighter]
	switch k {
	case KindHookups:
		return c[CountHookups], hours
	case KindLanded:
		return c[CountLanded], c[CountHookups]
	case KindLost:
		return c[CountLost], c[CountHookups]
	case KindBrokeOff:
		return c[CountBrokeOff], c[CountHookups]
	case KindHooking:
		return c[CountFoul], c[CountHookups]
	case KindBreakPlace:
		return places, places + c[CountPlaceUntold]
	case KindSnags:
		return c[CountSnags], hours
	case KindTangles:
		return c[CountTangles], hours
	case KindTangleKind:
		return c[CountTwists] + c[CountWindKnots] + c[CountNests], c[CountTangles]
	case KindTurns:
		return c[CountChecks], hours
	case KindChanges:
		return c[CountFlyChanges] + c[CountReties], hours
	}
	return c[CountTangles] - c[CountUntimed], c[CountTangles] // minutes lost
}

// CountedDay is what an angler's stints of a day add up to, as far as the same was said of what was
// counted in them.
type CountedDay struct {
	Angler   string
	Day      Date
	Recorded Recorded
	Stints   int
	Hours    float64 // of stints whose minutes were noted
	Counts   Counts
}
