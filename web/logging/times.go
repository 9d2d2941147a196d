package logging

import (
	"errors"
	"fmt"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
)

// What was read off the clock and is said back on the session's page: the words
// that its address carries.
const (
	readNight = "night" // the end, as the next day's
	readClock = "clock" // the minutes, from start and end
)

// pastMidnight takes an end that is not after its start as the next day's, if that
// can be, and notes why not otherwise.
func (f *entry) pastMidnight(s *journal.Session, loc *time.Location) {
	if s.Start == nil || s.End == nil || s.End.After(*s.Start) {
		return
	}
	clock := func(t time.Time) time.Duration {
		h, m, sec := t.In(loc).Clock()
		return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(sec)*time.Second
	}
	span, err := journal.ReadClock(s.Day, s.TimeZone, clock(*s.Start), clock(*s.End), 0)
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		f.Fault("end", invalid.Error())
	case err != nil:
		f.Fault("end", err.Error())
	default:
		s.End = &span.End
		f.read = append(f.read, readNight)
	}
}

// readMinutes gives the one stint without minutes what start and end leave to it,
// breaks taken off. An edit that leaves times and minutes alone fills in none.
func (f *entry) readMinutes(was journal.Session, s *journal.Session) {
	breaks := f.Fished("breaks")
	blank, others := -1, 0.0
	for i, st := range s.Stints {
		switch {
		case st.Minutes != nil:
			others += *st.Minutes
		case f.Wrong(stintName(i, "minutes")) != "":
			return
		case blank >= 0:
			if breaks != nil {
				f.Fault("breaks", "breaks can be taken off for one stint without minutes; write the minutes of the others")
			}
			return
		default:
			blank = i
		}
	}
	if blank < 0 || f.Wrong("start") != "" || f.Wrong("end") != "" || f.Wrong("day") != "" {
		return
	}
	if s.Start == nil || s.End == nil {
		if breaks != nil {
			f.Fault("breaks", "breaks are taken off the time from start to end; write these two, or the minutes fished")
		}
		return
	}
	if breaks == nil && untouched(was, *s, s.Stints[blank].ID) {
		return
	}
	length := s.End.Sub(*s.Start).Minutes()
	left := length - others
	if breaks != nil {
		left -= *breaks
	}
	if left <= 0 {
		f.Fault(stintName(blank, "minutes"), fmt.Sprintf("start and end make %s, which leaves this stint no time; write its minutes, or correct the others", units.FormatDuration(length)))
		return
	}
	s.Stints[blank].Minutes = &left
	f.read = append(f.read, readClock)
}

// untouched reports whether the journal holds the stint without minutes, in a
// session with the same times.
func untouched(was, s journal.Session, id journal.ID) bool {
	equal := func(a, b *time.Time) bool { return a != nil && b != nil && a.Equal(*b) }
	for _, st := range was.Stints {
		if st.ID == id {
			return st.Minutes == nil && equal(was.Start, s.Start) && equal(was.End, s.End)
		}
	}
	return false
}

// readBack says how a session's times were read off the clock.
func readBack(s journal.Session, read []string) string {
	if s.Start == nil || s.End == nil {
		return ""
	}
	text := ""
	for _, what := range read {
		switch what {
		case readNight:
			text += " It is taken as ending the next day: " + units.FormatDuration(s.End.Sub(*s.Start).Minutes()) + " from start to end."
		case readClock:
			fished := 0.0
			for _, st := range s.Stints {
				if st.Minutes != nil {
					fished += *st.Minutes
				}
			}
			text += " Start and end give the time fished, without any breaks: " + units.FormatDuration(fished) + "."
		}
	}
	return text
}
