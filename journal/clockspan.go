package journal

import (
	"fmt"
	"time"

	"rigtally/internal/units"
)

// longestNight is the longest time from a clock's start to its end that is taken
// past midnight without asking; more is likelier a slip, such as 7 for 19.
const longestNight = 14 * time.Hour

// ClockSpan is the time from one reading of a day's clock to another.
type ClockSpan struct {
	Start, End time.Time
	Minutes    float64 // fished: from start to end, without the breaks
	Says       string  // what a person should be told of how it was read; "" for nothing
}

// ReadClock makes a span of two times of day, as a clock in the zone (an IANA
// name) showed them, from midnight on, and takes breaks off. An end at or before
// its start is taken as the next day's if that makes at most 14 h, and Says so;
// otherwise it is an *Invalid, whose field is "end" or "breaks".
func ReadClock(day Date, zoneName string, start, end, breaks time.Duration) (ClockSpan, error) {
	loc, err := zone(zoneName)
	if err != nil {
		return ClockSpan{}, &Invalid{Problems: []string{err.Error()}, Fields: []string{"time_zone"}}
	}
	// Read off a clock, not counted from midnight: the two differ on days when clocks change.
	at := func(day Date, clock time.Duration) time.Time {
		return time.Date(day.Year, day.Month, day.Day, 0, 0, int(clock/time.Second), 0, loc)
	}
	s := ClockSpan{Start: at(day, start), End: at(day, end)}
	if !s.End.After(s.Start) {
		next := day
		next.Day++
		s.End = at(next, end)
		length := s.End.Sub(s.Start)
		if length > longestNight {
			return ClockSpan{}, &Invalid{Fields: []string{"end"}, Problems: []string{fmt.Sprintf(
				"the end %s is not after the start %s, and if it is the next day's, the session lasts %s; correct one of them", s.End.Format("15:04"), s.Start.Format("15:04"), lasting(length))}}
		}
		s.Says = "read as ending the next day: " + lasting(length)
	}
	length := s.End.Sub(s.Start)
	if breaks < 0 || breaks >= length {
		return ClockSpan{}, &Invalid{Fields: []string{"breaks"}, Problems: []string{fmt.Sprintf("breaks of %s can't be taken off %s; correct them or the times", lasting(breaks), lasting(length))}}
	}
	s.Minutes = (length - breaks).Minutes()
	if breaks > 0 && s.Says != "" {
		s.Says += ", of which " + lasting(length-breaks) + " were fished"
	}
	return s, nil
}

// lasting writes how long something lasts: 4 h 30 min.
func lasting(d time.Duration) string { return units.FormatDuration(d.Minutes()) }
