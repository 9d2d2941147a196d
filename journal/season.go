package journal

import "slices"

// SeasonRows are the sessions of a season with what their stints add up to.
type SeasonRows struct {
	Sessions []SeasonSession // in the order fished
	Stints   []SeasonStint   // of these sessions
	Rigs     map[ID]Rig      // those the stints were fished with
}

// SeasonSession is a session of a season, without what happened in it.
type SeasonSession struct {
	SessionRef
	AnglerKind  AnglerKind
	Water       string
	WaterKind   WaterKind
	LoggedAfter int      // days after its own, on the water's calendar
	Together    bool     // stored at one moment with others, as by an import
	WaterTempC  *float64 // nil when not noted, as the next two
	DepthM      *float64
	VelocityMS  *float64
	Storm       bool
}

// SeasonStint is what one stint counts for every outcome.
type SeasonStint struct {
	Session  int // its place in SeasonRows.Sessions
	Rig      ID
	Minutes  *float64 // nil when not noted
	outcomes []stintSum
}

// stintSum is a stint's part in an outcome; the exposure is 0 where it has none.
type stintSum struct {
	events, exposure float64
	happened         float64 // events, whether they can be counted or not
	refused          uint    // a bit for each condition of the outcome that does not hold
}

// Of returns the rows of an outcome over whole rigs, as Store.Rows would, divided
// by the level that each stint is given; a stint that is given none is left out.
func (r SeasonRows) Of(o Outcome, f Factor, level func(SeasonSession, SeasonStint) (Level, bool)) *Rows {
	at := outcomeAt(o.Key)
	column := Column{Factor: f}
	cells, sessions := map[Level]int32{}, map[int]int32{}
	var hours, events, exposure []float64
	var cell, session []int32
	leftOut := map[string]int{}
	for _, s := range r.Stints {
		l, ok := level(r.Sessions[s.Session], s)
		if !ok {
			continue
		}
		c, known := cells[l]
		if !known {
			c = int32(len(hours))
			cells[l] = c
			hours = append(hours, 0)
			column.Levels, column.Of = append(column.Levels, l), append(column.Of, c)
		}
		if s.Minutes != nil {
			hours[c] += *s.Minutes / 60
		}
		sum := s.outcomes[at]
		for i, u := range o.usable {
			if sum.refused&(1<<i) != 0 {
				leftOut[u.otherwise]++
			}
		}
		if sum.exposure <= 0 {
			continue
		}
		n, known := sessions[s.Session]
		if !known {
			n = int32(len(sessions))
			sessions[s.Session] = n
		}
		cell, session = append(cell, c), append(session, n)
		events, exposure = append(events, sum.events), append(exposure, sum.exposure)
	}
	rows := NewRows([]Column{column}, nil, hours, cell, session, events, exposure)
	rows.LeftOut, rows.Untimed = leftOut, leftOut[timedOnly.otherwise]
	return rows
}

// Each tells of every stint what it counts for an outcome: its session's place,
// how often the outcome happened, and the events and exposure that can be counted
// against each other, both 0 where none can.
func (r SeasonRows) Each(outcome string, tell func(session int, happened, events, exposure float64)) {
	at := outcomeAt(outcome)
	for _, s := range r.Stints {
		sum := s.outcomes[at]
		tell(s.Session, sum.happened, sum.events, sum.exposure)
	}
}

func outcomeAt(key string) int {
	return slices.IndexFunc(Outcomes(), func(o Outcome) bool { return o.Key == key })
}
