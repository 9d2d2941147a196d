package demo

import (
	"encoding/binary"
	"time"

	"rigtally/journal"
)

// recordedSeed is the seed of the dice below, which leave what happens as it is.
const recordedSeed = 11

// askedFrom is the year from which the outfit says of what it keeps count.
const askedFrom = 2025

// firstMonth is how many days from the first session the keen client left tangles uncounted.
const firstMonth = 31

// keepCounts says of each stint what was counted, and takes out what was not. What happens is as
// it would be if everything had been counted; see the package comment. Sessions are in order of
// start.
func (m *maker) keepCounts(sessions []journal.Session) {
	names := map[journal.ID]string{}
	for _, a := range m.anglers {
		names[a.ID] = a.Name
	}
	var began *journal.Date // the keen client's first day
	for i := range sessions {
		s := &sessions[i]
		who := names[s.AnglerID]
		if who == keen && began == nil {
			began = &s.Day
		}
		d := newDice(recordedSeed, binary.BigEndian.Uint64(s.ID[8:]))
		hasty := d.chance(0.02)
		kept, asked := journal.AllRecorded(), s.Day.Year >= askedFrom
		switch {
		case who == keen && daysBetween(*began, s.Day) < firstMonth:
			kept, asked = kept.Without(journal.KindTangles, journal.KindTangleKind, journal.KindMinutesLost), true // as he said later
		case who == novice:
			kept = kept.Without(journal.KindSnags)
		case hasty && asked:
			kept = journal.RecordedOf(journal.KindHookups)
		}
		for j := range s.Stints {
			s.Stints[j] = keep(s.Stints[j], kept)
			if !asked {
				s.Stints[j].Recorded = 0
			}
		}
	}
}

func daysBetween(from, to journal.Date) int {
	return int(to.In(time.UTC).Sub(from.In(time.UTC)).Hours() / 24)
}

// keep is a stint without what was not counted.
func keep(st journal.Stint, kept journal.Recorded) journal.Stint {
	st.Recorded = kept
	var events []journal.Event
	for _, e := range st.Events {
		if !kept.Has(kindOf(e)) {
			continue
		}
		if !kept.Has(journal.KindMinutesLost) {
			e.MinutesLost = nil
		}
		if e.Kind == journal.EventHookup && !kept.Has(journal.KindLanded) {
			e = journal.Event{Kind: e.Kind, Count: e.Count, Position: e.Position, Minute: e.Minute}
		}
		events = append(events, e)
	}
	st.Events = events
	if !kept.Has(journal.KindChanges) {
		var noted []journal.StintPosition
		for _, p := range st.Positions {
			if p.TagEndMM = nil; p != (journal.StintPosition{Position: p.Position}) {
				noted = append(noted, p)
			}
		}
		st.Positions = noted
	}
	return st
}

// kindOf is the kind of which an event is one.
func kindOf(e journal.Event) journal.Kind {
	switch e.Kind {
	case journal.EventHookup:
		return journal.KindHookups
	case journal.EventSnag:
		return journal.KindSnags
	case journal.EventTangle:
		return journal.KindTangles
	case journal.EventCheck:
		return journal.KindTurns
	}
	return journal.KindChanges
}
