package read

import (
	"strconv"
	"strings"
	"time"

	"rigtally/journal/gauge"
)

// offsets are those of the abbreviations that stand in files of the U.S. Geological Survey, in minutes. Go's own parser
// knows an abbreviation only where it is the machine's, and takes any other for UTC.
var offsets = map[string]int{
	"UTC": 0, "GMT": 0, "Z": 0,
	"NST": -210, "NDT": -150, "AST": -240, "ADT": -180, "EST": -300, "EDT": -240, "CST": -360, "CDT": -300, "MST": -420, "MDT": -360,
	"PST": -480, "PDT": -420, "AKST": -540, "AKDT": -480, "YST": -540, "YDT": -480, "HST": -600, "HDT": -540, "SST": -660, "CHST": 600, "GST": 600,
}

// zones are places that keep the time of an abbreviation, with daylight saving and without.
var zones = map[string][2]string{
	"AST": {"America/Halifax", "America/Puerto_Rico"}, "EST": {"America/New_York", "America/Panama"}, "CST": {"America/Chicago", "America/Regina"},
	"MST": {"America/Denver", "America/Phoenix"}, "PST": {"America/Los_Angeles", "Etc/GMT+8"}, "AKST": {"America/Anchorage", "Etc/GMT+9"},
	"HST": {"America/Adak", "Pacific/Honolulu"}, "SST": {"", "Pacific/Pago_Pago"}, "CHST": {"", "Pacific/Guam"}, "GST": {"", "Pacific/Guam"}, "UTC": {"", "UTC"},
}

func zoneName(abbreviation string, daylightSaving bool) string {
	pair := zones[strings.ToUpper(abbreviation)]
	if daylightSaving {
		return pair[0]
	}
	return pair[1]
}

// wall is a time as it stands: to the second, its offset from UTC if it has one.
type wall struct {
	seconds int64 // since 1970 by the clock that was read
	nanos   int64
	offset  int  // minutes
	known   bool // the offset
	dayOnly bool
}

func (w wall) utc() time.Time { return time.Unix(w.seconds-60*int64(w.offset), w.nanos).UTC() }

// day is midnight UTC of the calendar day.
func (w wall) day() time.Time {
	return time.Unix(w.seconds-(w.seconds%86400+86400)%86400, 0).UTC()
}

// parseWall reads 2012-05-02, 2012-05-02 10:15, 2012-05-02T10:15:00.000-05:00 and their like. It allocates nothing: files have
// millions of them.
func parseWall(b []byte) (w wall, ok bool) {
	if len(b) < 10 || b[4] != '-' || b[7] != '-' {
		return w, false
	}
	year, ok1 := digits(b[0:4])
	month, ok2 := digits(b[5:7])
	day, ok3 := digits(b[8:10])
	if !ok1 || !ok2 || !ok3 || month < 1 || month > 12 || day < 1 || day > daysIn(year, month) {
		return w, false
	}
	w.seconds = daysSince1970(year, month, day) * 86400
	if len(b) == 10 {
		w.dayOnly = true
		return w, true
	}
	b = b[10:]
	if (b[0] != 'T' && b[0] != ' ' && b[0] != 't') || len(b) < 6 || b[3] != ':' {
		return w, false
	}
	hour, ok1 := digits(b[1:3])
	minute, ok2 := digits(b[4:6])
	if !ok1 || !ok2 || hour > 24 || minute > 59 || hour == 24 && minute > 0 {
		return w, false
	}
	w.seconds += int64(hour*3600 + minute*60)
	b = b[6:]
	if len(b) >= 3 && b[0] == ':' {
		second, ok := digits(b[1:3])
		if !ok || second > 59 || hour == 24 && second > 0 {
			return w, false
		}
		w.seconds += int64(second)
		b = b[3:]
		if len(b) > 1 && (b[0] == '.' || b[0] == ',') {
			i, scale := 1, int64(100_000_000)
			for ; i < len(b) && b[i] >= '0' && b[i] <= '9'; i++ {
				w.nanos += int64(b[i]-'0') * scale
				scale /= 10
			}
			b = b[i:]
		}
	}
	for len(b) > 0 && b[0] == ' ' {
		b = b[1:]
	}
	if len(b) == 0 {
		return w, true
	}
	w.offset, w.known = offsetOf(b)
	return w, w.known
}

// offsetOf reads Z, UTC, -05:00, +0100, +01 and abbreviations of offsets.
func offsetOf(b []byte) (minutes int, ok bool) {
	if b[0] == '+' || b[0] == '-' {
		rest := b[1:]
		if len(rest) < 2 {
			return 0, false
		}
		hour, ok1 := digits(rest[:2])
		rest = rest[2:]
		if len(rest) > 0 && rest[0] == ':' {
			rest = rest[1:]
		}
		minute, ok2 := 0, true
		if len(rest) > 0 {
			if minute, ok2 = digits(rest); len(rest) != 2 {
				return 0, false
			}
		}
		if !ok1 || !ok2 || hour > 15 || minute > 59 {
			return 0, false
		}
		if minutes = hour*60 + minute; b[0] == '-' {
			minutes = -minutes
		}
		return minutes, true
	}
	if len(b) > 5 {
		return 0, false
	}
	if minutes, ok = offsets[string(b)]; !ok {
		minutes, ok = offsets[strings.ToUpper(string(b))]
	}
	return minutes, ok
}

func digits(b []byte) (n int, ok bool) {
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = 10*n + int(c-'0')
	}
	return n, len(b) > 0
}

func daysIn(year, month int) int {
	switch month {
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// daysSince1970 counts days of the Gregorian calendar from years that begin in March, so that a leap day is a year's last.
func daysSince1970(year, month, day int) int64 {
	if month <= 2 {
		year, month = year-1, month+12
	}
	era := year / 400
	inEra := year - era*400
	inYear := (153*(month-3)+2)/5 + day - 1
	return int64(era*146097 + inEra*365 + inEra/4 - inEra/100 + inYear - 719468)
}

// number reads a decimal number.
func number(b []byte) (float64, bool) {
	if len(b) == 0 || len(b) > 40 || b[0] != '-' && b[0] != '+' && b[0] != '.' && (b[0] < '0' || b[0] > '9') {
		return 0, false // Inf, NaN and 0x1p4 are no readings
	}
	for _, c := range b[1:] {
		if (c < '0' || c > '9') && c != '.' && c != 'e' && c != 'E' && c != '-' && c != '+' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil
}

// value reads a number, and < or > before it.
func value(b []byte) (v float64, f gauge.Flags, ok bool) {
	if len(b) > 1 && (b[0] == '<' || b[0] == '>') {
		f, b = gauge.Censored, b[1:]
		for len(b) > 0 && (b[0] == ' ' || b[0] == '=') {
			b = b[1:]
		}
	}
	v, ok = number(b)
	return v, f, ok
}

// local is a time by the clock of the zone that a person named. It is refused where the clock shows it twice or never.
func (b *book) local(w wall, place string) (time.Time, error) {
	at, err := b.either(w, place)
	if err != nil {
		return time.Time{}, err
	}
	if len(at) > 1 {
		return time.Time{}, b.twice(w, place)
	}
	return at[0], nil
}

func (b *book) twice(w wall, place string) error {
	return b.wrongf(place, "the clocks of %s showed %s twice, before and after they went back; write its offset, as in %s-05:00, or name the zone that the file keeps all year, as Etc/GMT+7 for seven hours behind UTC", b.opt.Zone, stands(w), stands(w))
}

func stands(w wall) string { return time.Unix(w.seconds, 0).UTC().Format("2006-01-02T15:04") }

// either are the moments, earlier first, at which clocks showed a time: one, or two in the hour that is repeated.
func (b *book) either(w wall, place string) ([]time.Time, error) {
	if b.opt.Zone == nil {
		return nil, b.unsaidf(place, "%s has no offset from UTC; name the time zone that the file keeps, as America/Denver", stands(w))
	}
	var at []time.Time
	for _, around := range []int64{-86400, 86400} {
		_, offset := time.Unix(w.seconds+around, 0).In(b.opt.Zone).Zone()
		t := time.Unix(w.seconds-int64(offset), w.nanos).UTC()
		if _, is := t.In(b.opt.Zone).Zone(); is == offset && (len(at) == 0 || !at[0].Equal(t)) {
			at = append(at, t)
		}
	}
	switch {
	case len(at) == 0:
		return nil, b.wrongf(place, "the clocks of %s never showed %s, since they went forward then. Does the file keep standard time all year? Then name that zone, as Etc/GMT+7 for seven hours behind UTC", b.opt.Zone, stands(w))
	case len(at) == 2 && at[1].Before(at[0]):
		at[0], at[1] = at[1], at[0]
	}
	return at, nil
}
