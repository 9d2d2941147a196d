package facts

import (
	"bytes"
	"cmp"
	"slices"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
)

// SeasonRows are the sessions of a season, with their stints.
type SeasonRows struct {
	Sessions []SeasonSession            // in the order fished
	Stints   []SeasonStint              // of these sessions
	Rigs     map[journal.ID]journal.Rig // those the stints were fished with

	facts *Facts
}

// SeasonSession is a session of a season, without what happened in it.
type SeasonSession struct {
	journal.SessionRef
	AnglerKind  journal.AnglerKind
	Water       string
	WaterKind   journal.WaterKind
	LoggedAfter int      // days after its own, on the water's calendar
	Together    bool     // stored at one moment with others, as by an import
	FlowM3S     *float64 // nil when not noted, as the next three
	WaterTempC  *float64
	DepthM      *float64
	VelocityMS  *float64
	Storm       bool

	FlowPercentile, TempPeakC *float64 // nil when no gauge tells
	Trend6H                   gauge.Trend
}

// SeasonStint is a stint of a season.
type SeasonStint struct {
	Session  int // its place in SeasonRows.Sessions
	Rig      journal.ID
	Minutes  *float64 // nil when not noted
	Recorded journal.Recorded
	row      int32
}

// Season returns the sessions of a year, 0 for all years.
func (f *Facts) Season(year int) SeasonRows {
	r := SeasonRows{Rigs: map[journal.ID]journal.Rig{}, facts: f}
	together := map[int64]int{}
	order := f.inOrder(func(se *factSession) bool { return year == 0 || se.day.date().Year == year })
	for _, s := range order {
		together[f.sessions[s].logged]++
	}
	r.Sessions = make([]SeasonSession, 0, len(order))
	rigs := make([]bool, len(f.rigs))
	for place, s := range order {
		se := &f.sessions[s]
		angler, water, gauged := f.anglers[se.angler], f.waters[se.water], f.gaugedOf(s)
		r.Sessions = append(r.Sessions, SeasonSession{SessionRef: f.ref(s), AnglerKind: angler.Kind, Water: water.Name, WaterKind: water.Kind,
			LoggedAfter: journal.DaysLate(se.day.date(), time.UnixMicro(se.logged), f.zones[se.zone]), Together: together[se.logged] > 1,
			FlowM3S: f.value(se.flow), WaterTempC: f.value(se.temp), DepthM: f.value(se.depth), VelocityMS: f.value(se.velocity), Storm: se.storm,
			FlowPercentile: f.value(gauged.percentile), TempPeakC: f.value(gauged.peak), Trend6H: trendWord(se.trends & 15)})
		from, to := f.stintsOf(s)
		for row := from; row < to; row++ {
			st := f.stints[row]
			rig := &f.rigs[st.rig].Rig
			if !rigs[st.rig] {
				rigs[st.rig], r.Rigs[rig.ID] = true, *rig
			}
			r.Stints = append(r.Stints, SeasonStint{Session: place, Rig: rig.ID, Minutes: st.minutes(), Recorded: st.recorded, row: row})
		}
	}
	return r
}

// inOrder lists the sessions that are wanted in the order in which they were fished.
func (f *Facts) inOrder(want func(*factSession) bool) []int {
	var list []int
	for s := range f.sessions {
		if !f.isGone(s) && want(&f.sessions[s]) {
			list = append(list, s)
		}
	}
	slices.SortFunc(list, func(a, b int) int {
		x, y := &f.sessions[a], &f.sessions[b]
		return cmp.Or(cmp.Compare(x.day, y.day), cmp.Compare(x.start, y.start), bytes.Compare(x.id[:], y.id[:]))
	})
	return list
}

func (f *Facts) ref(session int) journal.SessionRef {
	se := &f.sessions[session]
	return journal.SessionRef{ID: se.id, Day: se.day.date(), Angler: f.anglers[se.angler].Name}
}

// count is what a stint counts for an outcome over its whole rig, and why it can't be used,
// if it can't.
func (f *Facts) count(o journal.Outcome, row int32) (events, exposure float64, refused string) {
	t := o.Terms()
	st := &f.stints[row]
	hours := st.hours()
	events = f.ofStint.sum(t.Events, row)
	if exposure = hours; !o.Hourly() {
		exposure = f.ofStint.sum(t.Over, row) - f.ofStint.sum(t.Less, row)
	}
	return events, exposure, o.Usable(st.recorded, hours, f.ofStint.at(journal.CountUntimed, row))
}

// Of returns the rows of an outcome over whole rigs, as Facts.Rows would, divided
// by the level that each stint is given; a stint that is given none is left out. Given are factors that
// are words of who fished or where.
func (r SeasonRows) Of(o journal.Outcome, f journal.Factor, given []journal.Factor, level func(SeasonSession, SeasonStint) (journal.Level, bool)) *Rows {
	columns := make([]Column, 1+len(given))
	places := make([]map[journal.Level]int32, len(columns)) // of the levels of each
	columns[0].Factor = f
	for i, g := range given {
		columns[1+i].Factor = g
	}
	for i := range places {
		places[i] = map[journal.Level]int32{}
	}
	type kind struct {
		level  journal.Level
		angler string
		water  string
	}
	cells := map[kind]int32{}
	sessions, count := make([]int32, len(r.Sessions)), int32(0) // one more than the number of each that is used
	var last kind
	c := int32(unknown)
	var hours, events, exposure []float64
	var cell, session []int32
	found := journal.Answer{LeftOut: map[string]int{}}
	terms := o.Terms()
	untold := 0.0
	for _, s := range r.Stints {
		se := r.Sessions[s.Session]
		l, ok := level(se, s)
		if !ok {
			continue
		}
		key := kind{level: l}
		if len(given) > 0 {
			key.angler, key.water = se.Angler, se.Water
		}
		if c == unknown || key != last {
			var known bool
			if c, known = cells[key]; !known {
				c = int32(len(hours))
				cells[key] = c
				hours = append(hours, 0)
				setting := journal.Setting{Angler: se.Angler, Water: se.Water}
				for i := range columns {
					if i > 0 {
						l = journal.Level{Word: given[i-1].Word(&setting)}
					}
					columns[i].take(places[i], l)
				}
			}
			last = key
		}
		if s.Minutes != nil {
			hours[c] += *s.Minutes / 60
		}
		k, t, refused := r.facts.count(o, s.row)
		if refused != "" {
			found.LeftOut[refused]++
			continue
		}
		if t <= 0 {
			continue
		}
		if sessions[s.Session] == 0 {
			count++
			sessions[s.Session] = count
		}
		cell, session = append(cell, c), append(session, sessions[s.Session]-1)
		events, exposure = append(events, k), append(exposure, t)
		untold += detail(&found, o.Key, terms.Untold, s.Recorded, &r.facts.ofStint, s.row)
	}
	rows := NewRows(columns[:1], columns[1:], hours, cell, session, events, exposure)
	rows.LeftOut, rows.Untimed, rows.Untold = found.LeftOut, found.LeftOut[journal.NotAllTimed], int(untold)
	rows.Assumed, rows.AsFair = found.Assumed, found.AsFair
	return rows
}

// take gives the next cell a level.
func (c *Column) take(places map[journal.Level]int32, l journal.Level) {
	at, known := places[l]
	if !known {
		at = int32(len(c.Levels))
		places[l] = at
		c.Levels = append(c.Levels, l)
	}
	c.Of = append(c.Of, at)
}

// detail notes what was not told of a stint that is used, and returns how many of its events
// lack the detail that the outcome goes by.
func detail(a *journal.Answer, o string, untold []journal.Count, r journal.Recorded, counts *tallies, row int32) float64 {
	if r.Assumed() {
		a.Assumed++
	}
	if o == "loss" && !r.Has(journal.KindHooking) {
		a.AsFair++
		return 0
	}
	return counts.sum(untold, row)
}

// Each tells of every stint what it counts for an outcome: its session's place,
// how often the outcome happened, and the events and exposure that can be counted
// against each other, both 0 where none can.
func (r SeasonRows) Each(outcome string, tell func(session int, happened, events, exposure float64)) {
	o, err := journal.OutcomeByKey(outcome)
	if err != nil {
		return
	}
	for _, s := range r.Stints {
		events, exposure, refused := r.facts.count(o, s.row)
		if refused != "" || exposure <= 0 {
			tell(s.Session, events, 0, 0)
			continue
		}
		tell(s.Session, events, events, exposure)
	}
}

// Counted is a tally of a stint, and whether count was kept of it.
func (r SeasonRows) Counted(s SeasonStint, c journal.Count) (n int, kept bool) {
	return int(r.facts.ofStint.at(c, s.row)), s.Recorded.Has(c.Kinds()...)
}

// SessionSum is what a session counts for an outcome, over its whole rigs.
type SessionSum struct {
	journal.SessionRef
	Events, Exposure float64
}
