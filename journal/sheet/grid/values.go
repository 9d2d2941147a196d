package grid

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// number writes a number with the fifteen digits that spreadsheet programs calculate with, so that
// 0.1+0.2 is 0.3; never with exactly three decimals, since 1.250 may be read as 1250.
func number(v float64) string {
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 15, 64), 64)
	if v == 0 {
		return "0" // not -0
	}
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if point := strings.IndexByte(s, '.'); point >= 0 && len(s)-point == 4 {
		s += "0"
	}
	return s
}

const (
	day = 86400 // seconds

	// lastSerial is 9999-12-31 as a serial of the 1900 system; shift1904 is what a serial of the 1904
	// system is short of it; firstDay is from where on a serial under a format of time alone is taken for a
	// moment, of which the program shows the time of day: in 1927, for no spell of fishing is that long.
	lastSerial = 2958465
	shift1904  = 1462
	firstDay   = 10000
)

// serial writes what a date, time or spell is stored as, the days since the end of 1899, as its format shows it.
func (f *format) serial(v float64) string {
	seconds := math.Round(v * day)
	if seconds < 0 || seconds >= (lastSerial+1)*day {
		if f.elapsed || f.time && !f.date {
			return spell(seconds, f.seconds)
		}
		return number(v)
	}
	whole, rest := int(seconds)/day, int(seconds)%day
	switch {
	case f.elapsed, !f.date && whole >= 1 && whole < firstDay:
		return spell(seconds, f.seconds)
	case !f.date, f.time && whole == 0:
		return clock(rest, f.seconds)
	case whole == 0 || whole == 60: // no day: 0 January and 29 February 1900
		return number(v)
	case f.time:
		return date(whole) + " " + clock(rest, f.seconds)
	}
	return date(whole)
}

// date writes a day. Serial 60 is 29 February 1900, which never was (ECMA-376 part 1, 18.17.4.1), so days
// before it count from one day later.
func date(serial int) string {
	if serial < 60 {
		serial++
	}
	return time.Date(1899, 12, 30+serial, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
}

// clock writes a time of day, with seconds only where the format shows them.
func clock(seconds int, exact bool) string {
	s := fmt.Sprintf("%02d:%02d", seconds/3600, seconds/60%60)
	if exact && seconds%60 != 0 {
		s += fmt.Sprintf(":%02d", seconds%60)
	}
	return s
}

// spell writes a spell of time as hours:minutes.
func spell(seconds float64, exact bool) string {
	sign := ""
	if seconds < 0 {
		sign, seconds = "-", -seconds
	}
	if seconds > 1e12 {
		return sign + number(seconds/day)
	}
	n := int(seconds)
	s := fmt.Sprintf("%s%d:%02d", sign, n/3600, n/60%60)
	if exact && n%60 != 0 {
		s += fmt.Sprintf(":%02d", n%60)
	}
	return s
}

// moment writes a date or moment in ISO 8601, as OpenDocument and the strict form of .xlsx store it, as its format shows it.
func (f *format) moment(s string) (string, bool) {
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02", "15:04:05"} {
		t, err := time.Parse(layout, strings.TrimSuffix(s, "Z"))
		if err != nil {
			continue
		}
		t = t.Round(time.Second)
		exact := clock(t.Hour()*3600+t.Minute()*60+t.Second(), f.seconds)
		switch {
		case layout == "15:04:05", f.time && !f.date:
			return exact, true
		case layout == "2006-01-02", f.date && !f.time:
			return t.Format(time.DateOnly), true
		}
		return t.Format(time.DateOnly) + " " + exact, true
	}
	return "", false
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// Failed reports whether a cell holds what programs show where a formula fails, or NotComputed. #N/A is none of
// them: people write it for what they don't know.
func Failed(cell string) bool {
	if len(cell) < 4 || cell[0] != '#' && cell[0] != 'E' {
		return false
	}
	switch cell {
	case NotComputed, "#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "#SPILL!", "#CALC!", "#FIELD!", "#BLOCKED!", "#CONNECT!", "#UNKNOWN!":
		return true
	}
	code, found := strings.CutPrefix(cell, "Err:")
	_, err := strconv.Atoi(code)
	return found && err == nil
}
