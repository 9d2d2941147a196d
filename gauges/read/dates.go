package read

import (
	"bytes"
	"fmt"
	"slices"
)

// dates is how a column writes its dates where the year comes last. Whether the month or the day is first is decided over the
// whole column: 10/1/1999 alone tells nobody.
type dates struct {
	year      order  // first or last, since rows begin with one of them
	shown     string // the first date, as it stands
	dotted    bool   // all of them: 1.10.1999, which has the day first wherever it is written
	dayFirst  string // the row that first can have nothing else, since a part is above 12
	monthHere string // the same for the month
}

// order is where a year stands.
type order byte

const (
	yearFirst order = iota + 1
	yearLast
)

// Rows with the year last are kept as their parts until it is known which is which: year, first, second, seconds of the day.
const partsDay = 100_000 // above the seconds of a day

func packed(year, first, second int, seconds int64) int64 {
	return (int64(year)*10_000+int64(first)*100+int64(second))*partsDay + seconds
}

// unpacked is a moment by the clock; not ok where there is no such day.
func unpacked(parts int64, dayFirst bool) (seconds int64, ok bool) {
	day := parts / partsDay
	year, month, of := int(day/10_000), int(day/100%100), int(day%100)
	if dayFirst {
		month, of = of, month
	}
	if month < 1 || month > 12 || of < 1 || of > daysIn(year, month) {
		return 0, false
	}
	return daysSince1970(year, month, of)*86400 + parts%partsDay, true
}

// parseDate reads 2012/5/2 9:15, 5/2/2012 9:15 PM, 2.5.2012 09:15:30 and their like. Of one with the year last the seconds are
// packed parts.
func parseDate(b []byte) (w wall, year order, dot, ok bool) {
	var part [3]int
	var width [3]int
	var mark byte
	for i := range part {
		n := 0
		for n < len(b) && b[n] >= '0' && b[n] <= '9' {
			n++
		}
		part[i], ok = digits(b[:n])
		if width[i] = n; !ok || n > 4 {
			return w, 0, false, false
		}
		if b = b[n:]; i == 2 {
			break
		}
		if len(b) == 0 || b[0] != '/' && b[0] != '.' && b[0] != '-' || mark != 0 && b[0] != mark {
			return w, 0, false, false
		}
		mark, b = b[0], b[1:]
	}
	seconds := int64(0)
	if len(b) == 0 {
		w.dayOnly = true
	} else {
		if w, ok = parseClock(b); !ok {
			return w, 0, false, false
		}
		seconds = w.seconds
	}
	switch {
	case width[0] == 4 && width[1] <= 2 && width[2] <= 2:
		w.seconds, ok = unpacked(packed(part[0], part[1], part[2], seconds), false)
		return w, yearFirst, false, ok
	case width[2] == 4 && width[0] <= 2 && width[1] <= 2:
		w.seconds = packed(part[2], part[0], part[1], seconds)
		_, one := unpacked(w.seconds, false)
		_, other := unpacked(w.seconds, true)
		return w, yearLast, mark == '.', one || other
	}
	return w, 0, false, false
}

// parseClock reads what stands behind a date: 9:15, 09:15:30 and 9:15 PM, with an offset or without.
func parseClock(b []byte) (w wall, ok bool) {
	if b[0] != ' ' && b[0] != 'T' && b[0] != 't' {
		return w, false
	}
	b = bytes.TrimLeft(b[1:], " ")
	text := append(make([]byte, 0, 48), "1970-01-01 "...)
	if len(b) > 1 && b[1] == ':' {
		text = append(text, '0')
	}
	text = append(text, b...)
	at := bytes.IndexAny(text[11:], "aApP")
	if at < 0 || 11+at+2 > len(text) || text[11+at+1]|0x20 != 'm' {
		return parseWall(text)
	}
	half := text[11+at] | 0x20
	text = slices.Delete(text, 11+at, 11+at+2) // what is behind it is an offset
	if w, ok = parseWall(bytes.TrimRight(text, " ")); !ok || w.dayOnly || w.seconds < 3600 || w.seconds >= 13*3600 {
		return w, false
	}
	if w.seconds >= 12*3600 {
		w.seconds -= 12 * 3600
	}
	if half == 'p' {
		w.seconds += 12 * 3600
	}
	return w, true
}

// dated takes note of how the date of a row is written.
func (p *plainTable) dated(text []byte, year order, dot bool, parts int64) error {
	d := &p.dates
	if d.year == 0 {
		d.year, d.shown, d.dotted = year, clip(text), dot
	}
	if d.year != year {
		return p.wrongf(p.l.place(), "%q is written in another way than %q; write the dates in one way, as 2012-05-02", clip(text), d.shown)
	}
	if year == yearFirst {
		return nil
	}
	d.dotted = d.dotted && dot
	_, month := unpacked(parts, false)
	_, day := unpacked(parts, true)
	if !month && d.dayFirst == "" {
		d.dayFirst = p.l.place()
	}
	if !day && d.monthHere == "" {
		d.monthHere = p.l.place()
	}
	if d.dayFirst != "" && d.monthHere != "" {
		return p.wrongf(p.l.place(), "%q is no date like those before it: the day is first in %s, and the month in %s", clip(text), d.dayFirst, d.monthHere)
	}
	return nil
}

// settle makes times of the clock of dates with the year last, once all of them are known.
func (p *plainTable) settle() error {
	d := p.dates
	if d.year != yearLast {
		return nil
	}
	dayFirst, by := false, ""
	switch fits := [2]bool{p.runs(false), p.runs(true)}; {
	case d.dayFirst != "":
		dayFirst, by = true, ", by "+d.dayFirst
	case d.monthHere != "":
		by = ", by " + d.monthHere
	case p.opt.DayFirst != nil:
		dayFirst = *p.opt.DayFirst
	case d.dotted:
		dayFirst = true
	case fits[0] != fits[1]:
		dayFirst, by = fits[1], ", since its rows follow one another so"
	default:
		return p.unsaidf(p.rows[0].place(), "nothing there says whether %q has the month or the day first; say which, or write the dates as 2012-05-02", d.shown)
	}
	for i := range p.rows {
		var ok bool
		if p.rows[i].seconds, ok = unpacked(p.rows[i].seconds, dayFirst); !ok {
			return p.wrongf(p.rows[i].place(), "there is no such day")
		}
	}
	p.notes = append(p.notes, fmt.Sprintf("Dates such as %s are read with the %s first%s.", d.shown, map[bool]string{true: "day", false: "month"}[dayFirst], by))
	return nil
}

// runs reports whether rows with times of day follow one another within half a day. Dates alone tell nothing: what is a day apart
// one way is a month apart the other.
func (p *plainTable) runs(dayFirst bool) bool {
	if p.daily {
		return false
	}
	before := int64(0)
	for i, r := range p.rows {
		at, ok := unpacked(r.seconds, dayFirst)
		if apart := at - before; !ok || i > 0 && (apart > 12*3600 || apart < -12*3600) {
			return false
		}
		before = at
	}
	return true
}
