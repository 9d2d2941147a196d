package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"rigtally/internal/units"
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
		s.nights = append(s.nights, r.at()+" "+span.Says)
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

// untimed counts the stints whose time fished is not known.
func (s *Sheet) untimed() int {
	n := 0
	for _, o := range s.outings {
		for _, st := range o.stints {
			if st.head.Fished.Minutes == nil && st.spell == nil {
				n++
			}
		}
	}
	return n
}

// without counts the rows that leave a field blank whose column they have.
func (s *Sheet) without(key string, blank func(r *row) bool) int {
	n := 0
	for _, r := range s.rows {
		if blank(r) && !r.bad && s.origin == foreign {
			if _, c := s.findIn(r.of, key); c != nil {
				n++
			}
		}
	}
	return n
}

// sayTimes tells how start and end were read.
func (s *Sheet) sayTimes() {
	if s.has("start") && s.has("end") && s.origin == foreign {
		s.choose("Where no minutes are noted, start and end give them.")
	}
	if s.sharedTimes > 0 {
		s.warn("%s no minutes noted, and none from start and end, which several stints share.", exchange.Verb(s.sharedTimes, "stint", "has", "have"))
	}
	if n := s.untimed() - s.sharedTimes; n > 0 && s.origin == foreign {
		s.warn("%s no time fished; what happened is kept, and adds to no rate by the hour.", exchange.Verb(n, "stint", "has", "have"))
	}
	if n := s.without("break_minutes", func(r *row) bool { return r.breaks == nil }); n > 0 {
		s.choose("In %s no break is noted, and none is taken off.", exchange.Counted(n, "row"))
	}
	if n := s.without("stint", func(r *row) bool { return r.Stint == nil }); n > 0 {
		s.warn("In %s no stint is noted; each of them is a stint of its own.", exchange.Counted(n, "row"))
	}
	if len(s.nights) > 0 {
		s.warn("Where the end is before the start: %s.", shortList(s.nights, "; "))
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

// Hours are written 1:30, 1.5 and, by some, 1.30. What a number of a column of time
// means follows from its header or from the column as a whole, or is asked for.

// Keys by which a column of time can be chosen, besides that of the field itself.
const (
	keyHours     = "hours"         // 1.5 is 1 h 30 min
	keyHourPoint = "hours.minutes" // 1.30 is 1 h 30 min
)

var bareTime = regexp.MustCompile(`^\d{1,4}(?:[.,](\d{1,2}))?$`)

// times is what the bare numbers of a column of time show.
type times struct {
	bare     int     // cells that are a number alone
	most     float64 // of these
	example  string  // of the largest
	fraction string  // one that is none of quarters, and could be minutes
	sixty    bool    // a fraction of 60 or more, which minutes never are
}

func (s *Sheet) timesOf(at int) times {
	var t times
	c := s.columns[at]
	for cell := range s.cells(at) {
		cell = strings.TrimSpace(cell)
		m := bareTime.FindStringSubmatch(cell)
		n, err := c.parser.Number(cell)
		if m == nil || err != nil {
			continue
		}
		t.bare++
		if n >= t.most {
			t.most, t.example = n, cell
		}
		switch part := (m[1] + "0")[:min(2, len(m[1])+1)]; {
		case m[1] == "":
		case part >= "60":
			t.sixty = true
		case part == "00" || part == "25" || part == "50":
		default:
			t.fraction = cmp.Or(t.fraction, cell)
		}
	}
	return t
}

// settleTimes decides what the numbers of each column of time mean.
func (s *Sheet) settleTimes() {
	if s.origin != foreign {
		return
	}
	for i, c := range s.columns {
		if c.field == nil || c.field.Quantity != units.Duration || c.hourPoint {
			continue
		}
		t := s.timesOf(i)
		switch {
		case t.bare == 0:
		case t.most == 0 && c.unit == "":
			c.unit = units.Minute // of nothing, any will do
		case c.unit == units.Hour && t.fraction != "" && !t.sixty && !c.Chosen:
			s.stop(c, fmt.Sprintf("has times such as %s, which may be hours and minutes or a fraction of hours", t.fraction), keyHours, keyHourPoint)
		case c.unit == units.Minute:
			c.fewMinutes = t.most <= 24
		case c.unit != "":
		case t.most > 24:
			c.unit, c.Note, c.fewHours = units.Minute, fmt.Sprintf("numbers are minutes, since %s can't be hours", t.example), true
		default:
			s.stop(c, "has numbers without a unit, which may be hours or minutes", timeKeys(c.field, t)...)
		}
	}
}

// timeKeys are those that tell the unit of a column of time.
func timeKeys(f *field, t times) []string {
	if f.Key != "minutes" {
		return []string{f.Key + "_h", f.Key + "_min"}
	}
	if t.fraction != "" && !t.sixty {
		return []string{keyHours, keyHourPoint, "minutes"}
	}
	return []string{keyHours, "minutes"}
}

// minutes reads a time of the column into minutes, to the second.
func (c *column) minutes(cell string) (float64, error) {
	text := strings.TrimSpace(cell)
	if m := bareTime.FindStringSubmatch(text); m != nil && c.unit != "" {
		n, err := c.parser.Number(text)
		switch {
		case err != nil:
		case c.hourPoint && m[1] != "":
			text = clockOf(text)
		case c.fewHours && n <= 24:
			return 0, &problem{what: "may be hours or minutes", remedy: fmt.Sprintf("write %s h or %s min", text, text)}
		case c.unit == units.Minute && m[1] != "" && n <= 24 && (c.fewMinutes || len(m[1]) == 2 && m[1] < "60"):
			return 0, &problem{what: "may be hours and minutes, or minutes and a fraction", remedy: fmt.Sprintf("write %s, or the minutes with their unit, as %s min", clockOf(text), text)}
		}
	}
	m, err := c.parser.Minutes(text, c.bare())
	if err != nil {
		return 0, fromUnits(err)
	}
	return m, nil
}

// clockOf writes 1.30 as 1:30, and 1.3 too, as programs shorten it.
func clockOf(text string) string {
	hours, minutes, _ := strings.Cut(strings.Replace(text, ",", ".", 1), ".")
	return hours + ":" + (minutes + "0")[:2]
}
