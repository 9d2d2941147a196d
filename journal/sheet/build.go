package sheet

import (
	"crypto/sha256"
	"encoding/binary"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/journal"
)

// deriveID makes the id of what a spreadsheet tells, always the same for the
// same parts, so that a file imported twice adds nothing. It is a UUIDv7 (RFC
// 9562, 5.7) of the day's first moment in UTC, its random bits from SHA-256.
func deriveID(day journal.Date, parts ...string) journal.ID {
	sum := sha256.Sum256([]byte(day.String() + "\x00" + strings.Join(parts, "\x00")))
	var id journal.ID
	var stamp [8]byte
	binary.BigEndian.PutUint64(stamp[:], uint64(max(0, day.In(time.UTC).UnixMilli())))
	copy(id[:6], stamp[2:])
	copy(id[6:], sum[:10])
	id[6] = id[6]&0x0f | 0x70
	id[8] = id[8]&0x3f | 0x80
	return id
}

// id returns the session's id: the one that an export wrote as its label, or
// one derived from day, angler, water and label or start.
func (o *outing) id() journal.ID {
	if id, err := journal.ParseID(o.head.Session); err == nil {
		return id
	}
	label := o.head.Session
	if label == "" && o.head.Start != nil {
		label = clockText(*o.head.Start)
	}
	return deriveID(o.head.Day, "session", strings.ToLower(o.head.Angler), strings.ToLower(o.head.Water), label)
}

// session makes a journal's session of an outing, angler, water, beat, guide and
// the rigs of its stints aside.
func (o *outing) session(zone string) (journal.Session, error) {
	h := o.head
	if h.Zone != "" {
		zone = h.Zone
	}
	s := *h.Outing
	s.ID, s.Day, s.TimeZone = o.id(), h.Day, zone
	loc, err := time.LoadLocation(zone)
	if err != nil {
		return s, &journal.Invalid{Problems: []string{"time zone " + zone + " is not known; write an IANA name such as America/Denver"}}
	}
	at := func(day, seconds int) *time.Time {
		// Read off a clock, not counted from midnight: the two differ on days when clocks change.
		t := time.Date(h.Day.Year, h.Day.Month, h.Day.Day+day, seconds/3600, seconds/60%60, seconds%60, 0, loc)
		return &t
	}
	if h.Start != nil {
		s.Start = at(0, *h.Start)
		if h.End != nil && *h.End > *h.Start {
			s.End = at(0, *h.End)
		} else if h.End != nil { // past midnight
			s.End = at(1, *h.End)
		}
	}
	for i, st := range o.stints {
		s.Stints = append(s.Stints, st.stint(deriveID(h.Day, "stint", s.ID.String(), strconv.Itoa(i+1)), h.Day, zone))
	}
	return s, nil
}

// stint makes a journal's stint of a day in a zone, its rig aside.
func (st *stintRows) stint(id journal.ID, day journal.Date, zone string) journal.Stint {
	out := *st.head.Fished
	out.ID, out.Minutes, out.Recorded = id, st.minutes(day, zone), st.recorded
	out.Events = st.events()
	for _, r := range st.rows {
		if p := r.Place.Position(); p != nil && *r.Tag != (journal.StintPosition{}) {
			tag := *r.Tag
			tag.Position = *p
			out.Positions = append(out.Positions, tag)
		}
	}
	return out
}

func (st *stintRows) events() []journal.Event {
	var all []journal.Event
	for _, r := range st.rows {
		events, _ := r.events() // which were made once, when the row was checked
		all = append(all, events...)
	}
	return all
}

// makeRig makes the rig that the rows describe, without a name. A rig of which no
// fly is described has one dropper.
func (st *stintRows) makeRig() journal.Rig {
	rig := *st.head.Leader
	for _, r := range st.rows {
		if p := r.Place.Position(); p != nil {
			fly := *r.Fly
			fly.Position = *p
			rig.Positions = append(rig.Positions, fly)
		}
	}
	if len(rig.Positions) == 0 {
		rig.Positions = []journal.RigPosition{{Position: 1, Hang: journal.HangTag}}
	}
	slices.SortFunc(rig.Positions, func(a, b journal.RigPosition) int { return a.Position - b.Position })
	return rig
}

// valid checks an outing by the journal's rules, with stand-ins for what the
// journal will supply.
func (s *Sheet) valid(o *outing) error {
	session, err := o.session("UTC")
	if err != nil {
		return err
	}
	session.AnglerID, session.WaterID = session.ID, session.ID
	rigs := make(map[journal.ID]journal.Rig, len(o.stints))
	for i, st := range o.stints {
		rig := *st.rig
		rig.Name, rig.ID = "the rig", session.Stints[i].ID
		if !s.soundRigs[st.tied] {
			if err := rig.Validate(); err != nil {
				return err
			}
			s.soundRigs[st.tied] = true
		}
		rigs[rig.ID] = rig
		session.Stints[i].RigID = rig.ID
	}
	return session.Validate(rigs)
}

// clockText writes seconds after midnight as 06:30, with seconds when there are any.
func clockText(seconds int) string {
	t := time.Unix(int64(seconds), 0).UTC()
	if seconds%60 != 0 {
		return t.Format("15:04:05")
	}
	return t.Format("15:04")
}
