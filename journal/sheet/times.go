package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"rigtally/journal"
	"rigtally/journal/exchange"
)

// spell is the time between two readings of the clock, in seconds after midnight.
type spell struct {
	start, end int
	breaks     float64 // minutes
}

// read makes a span of it, by the clock of a zone.
func (sp spell) read(day journal.Date, zone string) (journal.ClockSpan, error) {
	seconds := func(n int) time.Duration { return time.Duration(n) * time.Second }
	return journal.ReadClock(day, zone, seconds(sp.start), seconds(sp.end), time.Duration(sp.breaks*float64(time.Minute)))
}

// spell returns the time that a row tells of by the clock, nil if it does not.
func (r *row) spell() *spell {
	if r.Start == nil || r.End == nil {
		return nil
	}
	sp := &spell{start: *r.Start, end: *r.End}
	if r.breaks != nil {
		sp.breaks = *r.breaks
	}
	return sp
}

// checkClock refuses an end that is not after its start, unless it can be the next
// day's, and then says so. In a file of ours the journal has taken it already.
func (s *Sheet) checkClock(r *row) error {
	sp := r.spell()
	if sp == nil || s.origin != foreign {
		return nil
	}
	if r.Fished.Minutes != nil {
		sp.breaks = 0 // those of the minutes are taken off already
	}
	span, err := sp.read(r.Day, "UTC")
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		what, remedy, _ := strings.Cut(invalid.Problems[0], "; ")
		field := invalid.Fields[0]
		if field == "breaks" {
			field = "break_minutes"
		}
		return &problem{field: field, what: "can't be right, since " + what, remedy: remedy}
	}
	if span.Says != "" {
		s.nights = append(s.nights, fmt.Sprintf("row %d %s", r.number, span.Says))
	}
	return err
}

// clocks lets start and end give the minutes of stints that have none noted: of
// the only one of a session, or of several that follow each other.
func (s *Sheet) clocks(o *outing) {
	if s.origin != foreign {
		return
	}
	for _, st := range o.stints {
		for _, r := range st.rows {
			if st.spell == nil && !r.bad {
				st.spell = r.spell()
			}
		}
	}
	switch {
	case len(o.stints) == 1:
	case inOrder(o.stints):
		first, last := o.stints[0].spell, o.stints[len(o.stints)-1].spell
		for _, r := range o.rows {
			r.Start, r.End = &first.start, &last.end
		}
	default:
		for _, st := range o.stints {
			if st.spell != nil && st.head.Fished.Minutes == nil {
				s.sharedTimes++
			}
			st.spell = nil
		}
	}
}

// inOrder reports whether stints have times of their own, each after the one before.
func inOrder(stints []*stintRows) bool {
	for i, st := range stints {
		if st.spell == nil {
			return false
		}
		if i > 0 {
			if before := stints[i-1].spell; before.end <= before.start || st.spell.start < before.end {
				return false
			}
		}
	}
	return true
}

// minutes returns the time fished: as noted, else by the clock of a zone.
func (st *stintRows) minutes(day journal.Date, zone string) *float64 {
	if st.head.Fished.Minutes != nil || st.spell == nil {
		return st.head.Fished.Minutes
	}
	span, err := st.spell.read(day, zone)
	if err != nil { // on a night when clocks change
		return nil
	}
	return &span.Minutes
}

// sayTimes tells how start and end were read.
func (s *Sheet) sayTimes() {
	if s.has("start") && s.has("end") && s.origin == foreign {
		s.choose("Where no minutes are noted, start and end give them.")
	}
	if s.sharedTimes > 0 {
		s.warn("%s no minutes noted, and none from start and end, which several stints share.", exchange.Verb(s.sharedTimes, "stint", "has", "have"))
	}
	const most = 12
	if n := len(s.nights); n > 0 {
		list := strings.Join(s.nights[:min(most, n)], "; ")
		if n > most {
			list += "; …"
		}
		s.warn("Where the end is before the start: %s.", list)
	}
}

var (
	clockRE   = regexp.MustCompile(`^(\d{1,2})[:h.](\d\d)(?::(\d\d)(?:\.\d+)?)? ?(am|pm)?$`)
	hourRE    = regexp.MustCompile(`^(\d{1,2}) ?(am|pm|h)$`)
	militRE   = regexp.MustCompile(`^([01]\d|2[0-3])([0-5]\d)$`)
	dayPartRE = regexp.MustCompile(`^0?[.,]\d+$`)
)

// parseClock reads a time of day into seconds after midnight: 06:30, 6:30 am,
// 0630, 18h30, 7 pm, and the part of a day that spreadsheet programs store.
func parseClock(s string) (int, bool) {
	s = strings.ReplaceAll(strings.ToLower(strings.TrimSpace(s)), "a.m.", "am")
	s = strings.ReplaceAll(s, "p.m.", "pm")
	if dayPartRE.MatchString(s) && len(s) > 4 {
		part, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
		seconds := int(part*86400 + 0.5)
		return seconds - seconds%60, err == nil && seconds < 86400
	}
	var hour, minute, second int
	half := ""
	if m := clockRE.FindStringSubmatch(s); m != nil {
		hour, minute, second, half = atoi(m[1]), atoi(m[2]), atoi(m[3]), m[4]
	} else if m := hourRE.FindStringSubmatch(s); m != nil {
		hour, half = atoi(m[1]), strings.TrimSuffix(m[2], "h")
	} else if m := militRE.FindStringSubmatch(s); m != nil {
		hour, minute = atoi(m[1]), atoi(m[2])
	} else {
		return 0, false
	}
	if half != "" {
		if hour < 1 || hour > 12 {
			return 0, false
		}
		hour %= 12
		if half == "pm" {
			hour += 12
		}
	}
	if hour > 23 || minute > 59 || second > 59 {
		return 0, false
	}
	return hour*3600 + minute*60 + second, true
}

// readClock reads a time of day.
func readClock(_ *column, cell string) (*int, error) {
	_, clock := splitClock(cell)
	seconds, ok := parseClock(cmp.Or(clock, cell))
	if !ok {
		return nil, &problem{what: "is not a time of day", remedy: "write it as 06:30 or 6:30 pm"}
	}
	return &seconds, nil
}
