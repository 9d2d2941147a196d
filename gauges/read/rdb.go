package read

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"time"

	"rigtally/journal/gauge"
)

// lines reads a text line by line.
type lines struct {
	b     *book
	in    *bufio.Reader
	n     int  // of the line that was read last, from 1
	whole bool // it ended as lines do
}

func (l *lines) place() string { return line(l.n) }

// next is valid until the one after it. At the end it is io.EOF.
func (l *lines) next() ([]byte, error) {
	text, err := l.in.ReadSlice('\n')
	if len(text) > 0 {
		l.n++
	}
	switch {
	case errors.Is(err, bufio.ErrBufferFull):
		return nil, l.b.wrongf(l.place(), "it is longer than %s bytes, and so no row of readings", thousands(longestLine))
	case err == io.EOF && len(text) == 0:
		return nil, io.EOF
	case err != nil && !errors.Is(err, io.EOF):
		return nil, l.b.broken(err, l.place())
	}
	l.whole = err == nil
	if n := len(text); n > 0 && text[n-1] == '\n' {
		text = text[:n-1]
	}
	if n := len(text); n > 0 && text[n-1] == '\r' {
		text = text[:n-1]
	}
	return text, nil
}

// text reads what is neither JSON nor XML: tables.
func (b *book) text(in *bufio.Reader) error {
	l := &lines{b: b, in: in}
	r := newRdb(b, l)
	comments := 0
	for {
		text, err := l.next()
		switch {
		case err == io.EOF && len(r.names) > 0:
			return b.cut(l.place())
		case err == io.EOF:
			return nil // comments alone are how the U.S. Geological Survey says that it has nothing
		case err != nil:
			return err
		case len(bytes.TrimSpace(text)) == 0:
			continue
		case text[0] == '#' && !bytes.HasPrefix(text, []byte("#,")) && !bytes.HasPrefix(text, []byte("#;")): // # alone names numbers of rows
			comments++
			r.comment(text)
			continue
		}
		if bytes.HasPrefix(text, []byte("agency_cd\t")) || bytes.Contains(text, []byte("\tsite_no\t")) {
			return r.read(text)
		}
		if comments == 0 && bytes.HasPrefix(bytes.ToLower(text), []byte("no sites")) {
			return nil
		}
		return b.table(l, text)
	}
}

// rdb is the tab-delimited format of the U.S. Geological Survey: comments, a row of names, a row of widths, rows. Several such
// blocks may follow one another.
type rdb struct {
	b         *book
	l         *lines
	codes     *codes
	inCodes   bool
	inSites   bool
	names     map[string]string // of sites
	described map[string]string // a column's own words for what it holds

	columns        int
	site, at, zone int // columns, -1 where there is none
	values         []*rdbColumn
	cells          [][]byte
	siteNow        string
	zoneNow        string
	offsetNow      int // minutes
}

func newRdb(b *book, l *lines) *rdb {
	return &rdb{b: b, l: l, codes: newCodes(), names: map[string]string{}, described: map[string]string{}}
}

// rdbColumn is a column of values, with that of its codes.
type rdbColumn struct {
	value, code int
	sensor      string
	column      string // its name
	name        string // its own words for what it holds
	quantity    gauge.Quantity
	unit        unit
	statistic   gauge.Statistic
	series      *series // of the site that is being read
}

// comment takes what the header says about sites, sensors and codes.
func (r *rdb) comment(text []byte) {
	words := strings.TrimRight(strings.TrimLeft(string(text), "#"), " \t")
	fields := strings.Fields(words)
	lower := strings.ToLower(words)
	switch {
	case len(fields) == 0:
		r.inCodes, r.inSites = false, false
	case strings.Contains(lower, "codes included") || strings.Contains(lower, "qualification codes") || strings.Contains(lower, "remark codes"):
		r.inCodes = true
	case strings.Contains(lower, "site(s) are contained"):
		r.inSites = true
	case r.inCodes && len(fields) > 1:
		r.codes.explain(fields[0], strings.Join(fields[1:], " "))
	case r.inSites && len(fields) > 2:
		r.names[fields[1]] = strings.Join(fields[2:], " ")
	case len(fields) > 2 && len(fields[1]) == 5 && allDigits(fields[0]) && allDigits(fields[1]):
		column, rest := fields[0]+"_"+fields[1], fields[2:]
		if len(rest) > 1 && len(rest[0]) == 5 && allDigits(rest[0]) {
			column, rest = column+"_"+rest[0], rest[1:]
		}
		r.described[column] = strings.Join(rest, " ")
	}
}

func allDigits(s string) bool {
	_, ok := digits([]byte(s))
	return ok
}

// header finds the columns by their names; sites differ in their order.
func (r *rdb) header(text []byte) error {
	names := strings.Split(string(text), "\t")
	r.columns, r.site, r.at, r.zone, r.values = len(names), -1, -1, -1, nil
	r.siteNow = ""
	places := map[string]int{}
	for i, name := range names {
		places[name] = i
	}
	for i, name := range names {
		switch name {
		case "site_no":
			r.site = i
		case "datetime":
			r.at = i
		case "tz_cd":
			r.zone = i
		}
		sensor, rest, ok := strings.Cut(name, "_")
		if !ok || strings.HasSuffix(name, "_cd") || len(rest) < 5 || !allDigits(rest[:5]) || !allDigits(sensor) {
			continue
		}
		code, statistic := rest[:5], strings.TrimPrefix(rest[5:], "_")
		c := &rdbColumn{value: i, code: -1, sensor: sensor, column: name, name: r.described[name]}
		if j, ok := places[name+"_cd"]; ok {
			c.code = j
		}
		p, known := parameters[code]
		called := code
		if c.name != "" {
			called = c.name + " (" + code + ")"
		}
		if !known {
			r.b.leave(called)
			continue
		}
		if c.statistic, known = statistics[statistic]; !known {
			r.b.leave(called + ", " + statisticName(statistic))
			continue
		}
		c.quantity = p.quantity
		c.unit, _ = unitOf(p.unit)
		r.values = append(r.values, c)
	}
	if r.site < 0 || r.at < 0 {
		of := "not of readings"
		for _, k := range []struct{ column, is string }{
			{"peak_va", "of the highest flow of each year"}, {"mean_va", "of statistics over years"}, {"measurement_nu", "of measurements by hand"}, {"station_nm", "of sites"},
		} {
			if _, ok := places[k.column]; ok {
				of = k.is + ", and not of readings"
			}
		}
		return r.b.wrongf(r.l.place(), "a table of the U.S. Geological Survey has columns site_no and datetime; this one is %s. Fetch its instantaneous or daily values", of)
	}
	if len(r.cells) < r.columns {
		r.cells = make([][]byte, r.columns)
	}
	return nil
}

func (r *rdb) read(header []byte) error {
	if err := r.header(header); err != nil {
		return err
	}
	for widths := true; ; {
		text, err := r.l.next()
		switch {
		case err == io.EOF:
			if widths {
				return r.b.cut(r.l.place())
			}
			return nil
		case err != nil:
			return err
		case len(text) == 0:
			continue
		case text[0] == '#':
			r.comment(text)
			continue
		case bytes.HasPrefix(text, []byte("agency_cd\t")):
			if err := r.header(text); err != nil {
				return err
			}
			widths = true
			continue
		case widths:
			// Widths are advice; rows don't keep to them.
			if cells := bytes.Count(text, []byte("\t")) + 1; cells != r.columns {
				return r.b.wrongf(r.l.place(), "it has %d columns, and the row of names above it %d", cells, r.columns)
			}
			widths = false
			continue
		}
		if err := r.row(text); err != nil {
			return err
		}
	}
}

func (r *rdb) row(text []byte) error {
	n := 0
	for rest := text; ; n++ {
		i := bytes.IndexByte(rest, '\t')
		if n < r.columns {
			if i < 0 {
				r.cells[n] = rest
			} else {
				r.cells[n] = rest[:i]
			}
		}
		if i < 0 {
			n++
			break
		}
		rest = rest[i+1:]
	}
	if n != r.columns {
		if !r.l.whole {
			return r.b.cut(r.l.place())
		}
		if bytes.IndexByte(text, '<') >= 0 && bytes.IndexByte(text, '>') >= 0 {
			return r.b.wrongf(r.l.place(), "a web page begins there, where a row was expected: the service failed while it answered. Fetch it again")
		}
		return r.b.wrongf(r.l.place(), "it has %d columns, and the row of names %d", n, r.columns)
	}
	site := r.cells[r.site]
	if len(site) == 0 {
		return r.b.wrongf(r.l.place(), "it names no site")
	}
	if string(site) != r.siteNow {
		r.siteNow = string(site)
		s := gauge.Site{Provider: gauge.USGS, Number: r.siteNow}
		r.b.gauge(gauge.Gauge{Site: s, Name: r.names[r.siteNow]})
		for _, c := range r.values {
			c.series = r.b.of(s, c.quantity, c.sensor, c.statistic)
			c.series.sensorName = c.name
		}
	}
	w, ok := parseWall(r.cells[r.at])
	if !ok {
		return r.b.wrongf(r.l.place(), "%q is no time as 2012-05-02 10:15", clip(r.cells[r.at]))
	}
	for _, c := range r.values {
		v, f, has, err := r.value(c)
		if err != nil {
			return err
		}
		if !has {
			continue
		}
		at, err := r.time(w, c.statistic)
		if err != nil {
			return err
		}
		if err := r.b.add(c.series, at, v, f, r.l.place); err != nil {
			return err
		}
	}
	return nil
}

// usgsNoValue stands where there is no value, in answers that need a number there, and the other in old files.
const usgsNoValue, usgsOldNoValue = -999999, -123456e20

func (r *rdb) value(c *rdbColumn) (v float64, f gauge.Flags, has bool, err error) {
	cell := bytes.TrimSpace(r.cells[c.value])
	if c.code >= 0 {
		if code := r.cells[c.code]; len(code) > 0 {
			f = r.codes.cell(r.b, code)
		}
	}
	if len(cell) == 0 {
		return math.NaN(), f, f&noValue&^gauge.Suspect != 0, nil
	}
	v, more, ok := value(cell)
	switch {
	case ok && (v == usgsNoValue || v == usgsOldNoValue), strings.EqualFold(string(cell), "NaN"), strings.EqualFold(string(cell), "NA"):
		return math.NaN(), f, true, nil
	case ok:
		return c.unit.si(v), f | more, true, nil
	}
	why, ok := r.codes.instead(string(cell))
	if !ok {
		return 0, 0, false, r.b.wrongf(r.l.place()+", column "+clip(c.column), "%q is neither a number nor a code that is known; empty the cell if there was no value", clip(cell))
	}
	return math.NaN(), f | why, true, nil
}

// time resolves the zone of the row, which tells daylight saving.
func (r *rdb) time(w wall, statistic gauge.Statistic) (time.Time, error) {
	if statistic == gauge.DailyMean {
		return w.day(), nil
	}
	if w.known {
		return w.utc(), nil
	}
	if w.dayOnly {
		return time.Time{}, r.b.wrongf(r.l.place(), "%s has no time of day", w.day().Format(time.DateOnly))
	}
	if r.zone < 0 || len(r.cells[r.zone]) == 0 {
		return r.b.local(w, r.l.place())
	}
	if zone := r.cells[r.zone]; string(zone) != r.zoneNow {
		minutes, ok := offsetOf(zone)
		if !ok {
			return time.Time{}, r.b.wrongf(r.l.place(), "%q is no time zone that is known", clip(zone))
		}
		r.zoneNow, r.offsetNow = string(zone), minutes
	}
	w.offset, w.known = r.offsetNow, true
	return w.utc(), nil
}

// clip is a text short enough for a message.
func clip[T string | []byte](b T) string {
	text := strings.ToValidUTF8(string(b), "�")
	if runes := []rune(text); len(runes) > 40 {
		return string(runes[:40]) + "…"
	}
	return text
}
