package journal

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
