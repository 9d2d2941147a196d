package journal

import (
	"fmt"
	"time"
)

// Quality is what can be told of how well a journal is kept.
type Quality struct {
	Sessions, Stints int
	TagLengths       []Written // mm, each once a session, or once for each rig as tied
	Minutes          []Written // of stints
	Late             SessionList
	Imported         int // of the late sessions, those stored at one moment with others
	Untimed          SessionList
	UntimedStints    int // stints without minutes, of the sessions in Untimed
	Untagged         []UntaggedRig
	Outings          []Outing // sessions of which every stint's minutes are known, and every bad event was counted
	Days             []CountedDay
	Impossible       ImpossibleList
}

// Written is a value and how often it was written down.
type Written struct {
	Value float64
	Times int
}

// SessionList counts sessions and names the first MostListed of them.
type SessionList struct {
	Count int          `json:"count"`
	First []SessionRef `json:"first"`
}

// SessionRef names a session to people.
type SessionRef struct {
	ID     ID     `json:"session"`
	Day    Date   `json:"day"`
	Angler string `json:"angler"`
}

func (l *SessionList) Add(s SessionRef) {
	if l.Count++; l.Count <= MostListed {
		l.First = append(l.First, s)
	}
}

// UntaggedRig is a rig with a dropper on a tag whose length was not noted.
type UntaggedRig struct {
	ID     ID     `json:"rig"`
	Title  string `json:"title"`
	Stints int    `json:"stints"` // fished with it without noting the length either
}

// Outing is one session's hours and what went wrong in them: tangles, fish
// hooked foul, lost or broken off, and snags that broke the rig.
type Outing struct {
	Angler string
	Hours  float64
	Bad    float64
}

// BadKinds are the kinds of which count must have been kept for an Outing to be one.
var BadKinds = []Kind{KindHookups, KindLost, KindBrokeOff, KindHooking, KindTangles}

// LateDays is after how many days a session counts as logged late.
const LateDays = 7

// DaysLate is how many days after its own day a session was logged, on the
// water's calendar.
func DaysLate(day Date, at time.Time, name string) int {
	loc, err := zone(name)
	if err != nil {
		loc = time.UTC
	}
	logged := DateOf(at.In(loc)).In(time.UTC)
	return int(logged.Sub(day.In(time.UTC)).Hours() / 24)
}

// AddLogged puts a session where it belongs by the day on which it was logged.
func (q *Quality) AddLogged(s SessionRef, at time.Time, zone string, together bool) {
	switch days := DaysLate(s.Day, at, zone); {
	case days > LateDays:
		q.Late.Add(s)
		if together {
			q.Imported++
		}
	case days < 0:
		q.Impossible.Add(s.ID, s.Day, fmt.Sprintf("the session is dated %s but was logged before that, on %s; correct the day", s.Day, at.UTC().Format(time.DateOnly)))
	}
}

// Recount is what came of counting every stint's events again and holding the
// counts kept with stints, positions and spells against them.
type Recount struct {
	Stints      int          // counted
	Wrong       int          // of them, with a count kept that is not what the events add up to
	Uncounted   int          // of them, whose events contradict each other or the rig; see Impossible
	Differences int          // between what is kept and what was counted
	Repaired    bool         // the counts that were wrong have been written anew
	First       []Difference // the first MostListed of the differences
	Impossible  ImpossibleList
}

// MostListed is how much of anything wrong is listed one by one.
const MostListed = 100

// Difference is one value kept that is not what the stint's events add up to.
// Without Position it is kept with the whole stint, with Position alone with that
// fly, and with Spell as well with a length that the tag had for a while.
type Difference struct {
	Session  ID     `json:"session"`
	Day      Date   `json:"day"`
	Stint    int    `json:"stint"` // its number in the session, from 1
	Position *int   `json:"position"`
	Spell    *int   `json:"spell"`  // from 0 in order of time
	Column   string `json:"column"` // "row" when the whole row is missing or too much
	// Kept and Counted are nil where there is no value, and both are for columns
	// that name another row.
	Kept    *float64 `json:"kept"`
	Counted *float64 `json:"counted"`
}

// Impossible is something in a session that cannot be, in a sentence.
type Impossible struct {
	Session ID     `json:"session"`
	Day     Date   `json:"day"`
	Problem string `json:"problem"`
}

// ImpossibleList holds what cannot be: how much, and the first MostListed of it.
type ImpossibleList struct {
	Count int          `json:"count"`
	First []Impossible `json:"first"`
}

func (l *ImpossibleList) Add(session ID, day Date, problem string) {
	if l.Count++; l.Count <= MostListed {
		l.First = append(l.First, Impossible{session, day, problem})
	}
}
