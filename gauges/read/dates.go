package read

import (
	"bytes"
	"fmt"
	"slices"
	"time"
)

// dates is how a column writes its dates where they are in numbers and the year isn't first with four digits. Which part is which
// is decided over the whole column: 10/1/1999 alone tells nobody.
type dates struct {
	style   style     // of all of them
	shown   string    // the first date, as it stands
	dotted  bool      // all of them: 1.10.1999, which has the day first wherever it is written
	against [3]string // the row that first can't be in that order
	years   bool      // have two digits, so the century is that of the latest such year that has been
}

// style is how a date is written; a column keeps to one.
type style byte

const (
	yearFirst style = iota + 1
	yearLast
	yearShort // with two digits: 5/13/12
	spelled   // with the name of a month
	counted   // from 1970
)

// order is which part of a date in numbers is which.
type order byte

const (
	monthFirst order = iota
	dayFirst
	shortYearFirst // 12/05/13, where a year has two digits
)

func (o order) String() string { return [...]string{"month", "day", "year"}[o] }

// Rows with the year last are kept as their parts until it is known which is which: year, first, second, seconds of the day.
const partsDay = 100_000 // above the seconds of a day

func packed(year, first, second int, seconds int64) int64 {
	return (int64(year)*10_000+int64(first)*100+int64(second))*partsDay + seconds
}

// inOrder is a moment by the clock of packed parts.
func (b *book) inOrder(parts int64, s style, o order) (seconds int64, ok bool) {
	if s != yearShort {
		return unpacked(parts, o == dayFirst)
	}
	day := parts / partsDay
	year, first, second := int(day/10_000), int(day/100%100), int(day%100)
	if o == shortYearFirst {
		year, first, second = first, second, year
	}
	return unpacked(packed(b.century(year), first, second, parts%partsDay), o == dayFirst)
}

// century is the latest year that ends with two digits and has been.
func (b *book) century(year int) int {
	if year += 2000; year > b.latest.Year() {
		year -= 100
	}
	return year
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
func parseDate(b []byte) (w wall, year style, dot, ok bool) {
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
		if w, ok = parseClock(bytes.TrimPrefix(b, []byte(","))); !ok {
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
	case width[2] == 2 && width[0] <= 2 && width[1] <= 2:
		w.seconds = packed(part[2], part[0], part[1], seconds)
		return w, yearShort, mark == '.', part[0] > 0 && part[1] > 0 && part[2] >= 0
	}
	return w, 0, false, false
}

// parseClock reads what stands behind a date: 9:15, 09:15:30 and 9:15 PM, with an offset or without.
func parseClock(b []byte) (w wall, ok bool) {
	if len(b) == 0 || b[0] != ' ' && b[0] != 'T' && b[0] != 't' {
		return w, false
	}
	b = bytes.TrimLeft(b[1:], " ")
	if len(b) == 4 && allDigits(string(b)) { // 1015
		b = slices.Concat(b[:2], []byte(":"), b[2:])
	}
	for _, half := range []string{"a.m.", "p.m."} {
		b = bytes.Replace(b, []byte(half), []byte{half[0], 'm'}, 1)
	}
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
func (p *plainTable) dated(text []byte, s style, dot bool, parts int64) error {
	d := &p.dates
	if d.style == 0 {
		d.style, d.shown, d.dotted = s, clip(text), dot
	}
	if d.style != s {
		return p.wrongf(p.place(p.at), "%q is written in another way than %q; write the dates in one way, as 2012-05-02", clip(text), d.shown)
	}
	if s != yearLast && s != yearShort {
		return nil
	}
	d.dotted = d.dotted && dot
	left := 0
	for o := range order(len(d.against)) {
		if _, ok := p.inOrder(parts, s, o); d.against[o] == "" && (!ok || s == yearLast && o == shortYearFirst) {
			d.against[o] = p.l.place()
		}
		if d.against[o] == "" {
			left++
		}
	}
	if left == 0 {
		return p.wrongf(p.l.place(), "%q is no date like those before it: the day is first in %s, and the month in %s", clip(text), d.against[monthFirst], d.against[dayFirst])
	}
	return nil
}

// settle makes times of the clock of dates in numbers, once all of them are known.
func (p *plainTable) settle() error {
	d := p.dates
	if d.style != yearLast && d.style != yearShort {
		return p.years()
	}
	o, by, ok := p.order()
	if !ok {
		return p.unsaidf(p.rows[0].place(), "nothing there says whether %q has the month or the day first; say which, or write the dates as 2012-05-02", d.shown)
	}
	for i := range p.rows {
		if p.rows[i].seconds, ok = p.inOrder(p.rows[i].seconds, d.style, o); !ok {
			return p.wrongf(p.rows[i].place(), "there is no such day")
		}
	}
	p.notes = append(p.notes, fmt.Sprintf("Dates such as %s are read with the %s first%s.", d.shown, o, by))
	p.dates.years = d.style == yearShort
	return p.years()
}

// order finds the one in which dates are, and by what.
func (p *plainTable) order() (o order, by string, ok bool) {
	d := p.dates
	var can, fit []order
	for o := range order(len(d.against)) {
		if d.against[o] != "" {
			continue
		}
		if can = append(can, o); p.runs(o) {
			fit = append(fit, o)
		}
	}
	switch {
	case len(can) == 1 && can[0] == dayFirst:
		return dayFirst, ", by " + d.against[monthFirst], true
	case len(can) == 1:
		return can[0], ", by " + d.against[dayFirst], true
	case p.opt.DayFirst != nil && *p.opt.DayFirst && d.against[dayFirst] == "":
		return dayFirst, "", true
	case p.opt.DayFirst != nil && !*p.opt.DayFirst && d.against[monthFirst] == "":
		return monthFirst, "", true
	case d.dotted && d.against[dayFirst] == "":
		return dayFirst, "", true
	case len(fit) == 1:
		return fit[0], ", since its rows follow one another so", true
	}
	return 0, "", false
}

// years tells which years two digits are taken for. A step over half a century shows that they are of the one before.
func (p *plainTable) years() error {
	if !p.dates.years || len(p.rows) == 0 {
		return nil
	}
	year := func(r plainRow) int { return time.Unix(r.seconds, 0).UTC().Year() }
	from, to := year(p.rows[0]), year(p.rows[0])
	for i, r := range p.rows {
		if y := year(r); i > 0 && (y > year(p.rows[i-1])+50 || y < year(p.rows[i-1])-50) {
			return p.wrongf(r.place(), "its year has two digits, and would be %d after %d; write years with four", y, year(p.rows[i-1]))
		}
		from, to = min(from, year(r)), max(to, year(r))
	}
	which := fmt.Sprint(from)
	if to > from {
		which = fmt.Sprintf("those from %d to %d", from, to)
	}
	p.notes = append(p.notes, fmt.Sprintf("Years with two digits, as in %s, are taken for %s.", p.dates.shown, which))
	return nil
}

// runs reports whether rows with times of day follow one another within half a day. Dates alone tell nothing: what is a day apart
// one way is a month apart the other.
func (p *plainTable) runs(o order) bool {
	if p.daily {
		return false
	}
	before := int64(0)
	for i, r := range p.rows {
		at, ok := p.inOrder(r.seconds, p.dates.style, o)
		if apart := at - before; !ok || i > 0 && (apart > 12*3600 || apart < -12*3600) {
			return false
		}
		before = at
	}
	return true
}
