package read

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"rigtally/journal/gauge"
)

// plainTable is a table of anybody: times, values, perhaps words about them.
type plainTable struct {
	*table
	names      []string
	parts      []int // columns of year, month and day, and of hour and minute where there are such
	at, hour   int   // columns of the time, or of the day and the hour; hour is -1 for one column
	hours      bool  // the column of the hour has whole ones
	zone       int   // column of offsets, or -1
	station    int   // of keys that with the number of the gauge, and agency that with who runs it; or -1
	agency     int
	keys       []key // that all rows must agree in
	offset     *int  // minutes, of all times that have none
	offsetUsed bool  // and it is another than UTC
	values     []*plainColumn
	decimals   decimals
	codes      *codes
	dates      dates

	rows      []plainRow
	daily     bool
	summaries []string // rows that sum up others, by their first words
}

// key is a column that says of what the rows are: their gauge or their parameter.
type key struct {
	column int
	first  string // value of it
	place  string
}

type plainColumn struct {
	value, flag int
	name        string
	quantity    gauge.Quantity
	unit        unit
	unclear     unclear
	readings    []plainReading // one a row
}

// plainRow is the time of a row, small since files have millions: of the clock that was read, until it is resolved.
type plainRow struct {
	seconds int64
	line    int32
	offset  int16
	known   bool
}

func (r plainRow) wall() wall {
	return wall{seconds: r.seconds, offset: int(r.offset), known: r.known}
}

func (r plainRow) place() string { return line(int(r.line)) }

type plainReading struct {
	v    float64
	f    gauge.Flags
	mark byte // before three digits, until it is known what it means
	has  bool
}

// plain reads the rows below some names, or those that begin with the first line.
func (t *table) plain(names []string) error {
	p := &plainTable{table: t, hour: -1, zone: -1, station: -1, agency: -1, codes: newCodes()}
	first := p.timed()
	if first {
		names = make([]string, len(names))
	} else {
		p.unitsBelow(names)
	}
	p.names = names
	if err := p.columns(names); err != nil {
		return err
	}
	for {
		if !first {
			if err := t.row(); errors.Is(err, io.EOF) {
				return p.take()
			} else if err != nil {
				return err
			}
		}
		first = false
		if err := p.read(); err != nil {
			return err
		}
	}
}

// place is that of a cell of the row.
func (p *plainTable) place(column int) string {
	if column < 0 || column >= len(p.names) || p.names[column] == "" {
		return p.l.place()
	}
	return p.l.place() + ", column " + clip(p.names[column])
}

// when is the time of the row as it stands.
func (p *plainTable) when() []byte {
	if len(p.parts) > 0 {
		var text []byte
		for i, column := range p.parts {
			text = append(text, []string{"", "-", "-", " ", ":"}[i]...)
			if cell := bytes.TrimSpace(p.cells[column]); i > 2 && len(cell) == 1 {
				text = append(append(text, '0'), cell...)
			} else {
				text = append(text, cell...)
			}
		}
		if len(p.parts) == 4 {
			text = append(text, ":00"...)
		}
		return text
	}
	text := bytes.TrimSpace(p.cells[p.at])
	if p.hour >= 0 {
		hour := bytes.TrimSpace(p.cells[p.hour])
		if n := len(hour); p.hours && (n == 1 || n == 2) && allDigits(string(hour)) {
			hour = slices.Concat([]byte("0")[n-1:], hour, []byte(":00"))
		}
		text = slices.Concat(text, []byte(" "), hour)
	}
	return text
}

// timed reports whether the row begins with a time, so that it is no row of names.
func (p *plainTable) timed() bool {
	_, _, _, ok := p.parse(p.when())
	return ok
}

// parse reads a time in any way that people write it. Of dates in numbers with the year last it is packed until settle.
func (p *plainTable) parse(text []byte) (w wall, s style, dot, ok bool) {
	if w, ok = parseWall(text); ok {
		return w, yearFirst, false, true
	}
	if w, s, dot, ok = parseDate(text); ok {
		return w, s, dot, true
	}
	if w, s, ok = parseRun(text); ok {
		return w, s, false, true
	}
	w, short, ok := p.parseSpelled(text)
	p.dates.years = p.dates.years || ok && short
	return w, spelled, false, ok
}

func (p *plainTable) wall() (wall, error) {
	text := p.when()
	w, s, dot, ok := p.parse(text)
	if !ok {
		switch v, isNumber := number(text); {
		case len(text) == 0:
			return w, p.wrongf(p.place(p.at), "there is no time beside the values; take the row out, or write its time")
		case isNumber && v > 20_000 && v < 80_000:
			return w, p.wrongf(p.place(p.at), "%q is how a spreadsheet counts days; show the column as dates, as 2012-05-02 10:15, and save it again", clip(text))
		}
		return w, p.wrongf(p.place(p.at), "%q is no time as 2012-05-02 10:15 (year, month, day), with an offset as -06:00 or in the zone that is named", clip(text))
	}
	if p.zone >= 0 && !w.known && !w.dayOnly {
		if zone := bytes.TrimSpace(p.cells[p.zone]); len(zone) > 0 && (p.opt.Zone == nil || string(zone) != p.opt.Zone.String()) {
			if len(zone) == 2 && (zone[0] == '-' || zone[0] == '+') {
				zone = []byte{zone[0], '0', zone[1]} // -6
			}
			if w.offset, w.known = offsetOf(zone); !w.known {
				return w, p.wrongf(p.place(p.zone), "%q is no time zone that is known; write it as -06:00, or leave the column out and name the zone", clip(zone))
			}
		}
	}
	if p.offset != nil && !w.known && !w.dayOnly {
		w.offset, w.known = *p.offset, true
		p.offsetUsed = w.offset != 0
	}
	return w, p.dated(text, s, dot, w.seconds)
}

// sums are words that stand in place of a time in rows that sum up others.
var sums = strings.Fields("total totals sum mean average avg minimum min maximum max median count totaux somme moyenne")

// word is a cell in small letters, "" where a digit begins it, as most do.
func (p *plainTable) word(cell []byte) string {
	cell = bytes.TrimSpace(cell)
	if len(cell) > 0 && cell[0] >= '0' && cell[0] <= '9' {
		return ""
	}
	return strings.ToLower(strings.Trim(string(cell), ":"))
}

func (p *plainTable) read() error {
	if word := p.word(p.cells[p.at]); slices.Contains(sums, word) {
		if !slices.Contains(p.summaries, word) {
			p.summaries = append(p.summaries, word)
		}
		return nil
	}
	for i, k := range p.keys {
		switch cell := strings.TrimSpace(latin(p.cells[k.column])); {
		case cell == "":
		case k.first == "":
			p.keys[i].first, p.keys[i].place = cell, p.l.place()
		case k.first != cell:
			return p.wrongf(p.place(k.column), "it is %q, and in %s %q; a table holds the readings of one gauge, of one thing in a column. Cut it into one for each", clip(cell), k.place, clip(k.first))
		}
	}
	w, err := p.wall()
	if err != nil {
		return err
	}
	if len(p.rows) == 0 {
		p.daily = w.dayOnly
	}
	if p.daily != w.dayOnly {
		return p.wrongf(p.place(p.at), "%s: some rows have a time of day and some don't", clip(bytes.TrimSpace(p.cells[p.at])))
	}
	if len(p.rows) >= p.most {
		return p.wrongf("", "holds more than %s readings; cut it into parts, by years", thousands(p.most))
	}
	p.rows = append(p.rows, plainRow{w.seconds, int32(p.l.n), int16(w.offset), w.known})
	for _, c := range p.values {
		r, err := p.reading(c)
		if err != nil {
			return err
		}
		c.readings = append(c.readings, r)
	}
	return nil
}

// nothing is how programs write that a cell is empty.
var nothing = []string{"na", "n/a", "nan", "null", "none", "-", "–", "—", "---", "#n/a"}

// noneValues stand for no value in files of loggers.
var noneValues = []float64{-999, -9999, -99999, -999999}

func (p *plainTable) reading(c *plainColumn) (r plainReading, err error) {
	cell := bytes.TrimSpace(p.cells[c.value])
	if c.flag >= 0 {
		if flag := bytes.TrimSpace(p.cells[c.flag]); len(flag) > 0 {
			if f, ok := p.codes.cache[string(flag)]; ok {
				r.f = f
			} else if f, ok := meaning(latin(flag)); ok {
				p.codes.cache[string(flag)] = f
				r.f = f
			} else {
				r.f = p.codes.cell(p.book, flag)
			}
		}
	}
	if word := p.word(cell); len(cell) == 0 || word != "" && slices.Contains(nothing, word) {
		r.v, r.has = math.NaN(), r.f&noValue&^gauge.Suspect != 0
		return r, nil
	}
	v, f, mark, err := p.numeral(c, cell)
	if err != nil {
		if why, known := p.codes.instead(latin(cell)); known {
			return plainReading{v: math.NaN(), f: r.f | why, has: true}, nil
		}
		return r, err
	}
	if slices.Contains(noneValues, v) || mark != 0 && slices.Contains(noneValues, v/1000) {
		return plainReading{v: math.NaN(), f: r.f, has: true}, nil
	}
	return plainReading{v, r.f | f, mark, true}, nil
}

// take puts the rows into series, once all of them are known: the order of rows tells which pass of a repeated hour they are of.
func (p *plainTable) take() error {
	provider, number := "", ""
	if p.station >= 0 && p.agency >= 0 && p.keys[p.agency].first == "USGS" {
		// Of a number that is shorter a spreadsheet has taken zeros off, nobody knows how many.
		if number = p.keys[p.station].first; len(number) >= 8 && allDigits(number) {
			provider = gauge.USGS
		}
	}
	site, err := p.site(provider, number)
	if err != nil {
		return err
	}
	if err := p.decide(); err != nil {
		return err
	}
	if err := p.settle(); err != nil {
		return err
	}
	if err := p.resolve(); err != nil {
		return err
	}
	if p.offsetUsed {
		p.notes = append(p.notes, fmt.Sprintf("Times are read as %s from UTC, as the name of their column says.", offsetSaid(*p.offset)))
	}
	if len(p.summaries) > 0 {
		p.notes = append(p.notes, fmt.Sprintf("Rows that sum up others are left out: %s.", strings.Join(p.summaries, ", ")))
	}
	for _, c := range p.values {
		statistic := gauge.Instant
		if p.daily {
			statistic = gauge.DailyMean
		}
		s := p.of(site, c.quantity, c.name, statistic)
		s.Readings = slices.Grow(s.Readings, len(c.readings))
		for i, r := range c.readings {
			if !r.has {
				continue
			}
			if err := p.add(s, time.Unix(p.rows[i].seconds, 0).UTC(), c.unit.si(r.v), r.f, p.rows[i].place); err != nil {
				return err
			}
		}
		c.readings = nil
		if at, n := superseded(s.Readings); n > 0 {
			p.notes = append(p.notes, fmt.Sprintf("Of several values for one time the last is taken: %s of %s, the first at %s.", thousands(n), c.quantity, at.Format("2006-01-02 15:04 MST")))
		}
	}
	return nil
}

// superseded counts the values that stand at the time of another one, and tells the first such time. Series keep the last of them.
func superseded(list []gauge.Reading) (at time.Time, n int) {
	inOrder := true
	for i := range list[min(1, len(list)):] {
		inOrder = inOrder && list[i].At.Before(list[i+1].At)
	}
	if inOrder {
		return at, 0
	}
	values := map[int64]float64{}
	for _, r := range list {
		v, ok := values[r.At.UnixNano()]
		if values[r.At.UnixNano()] = r.Value; !ok || v == r.Value || r.Value != r.Value && v != v {
			continue
		}
		if n++; n == 1 {
			at = r.At
		}
	}
	return at, n
}
