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
	names    []string
	at, hour int // columns of the time, or of the day and the hour; hour is -1 for one column
	zone     int // column of offsets, or -1
	station  int // of keys that with the number of the gauge, and agency that with who runs it; or -1
	agency   int
	keys     []key // that all rows must agree in
	offset   *int  // minutes, of all times that have none
	values   []*plainColumn
	decimals decimals
	codes    *codes
	dates    dates

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

// columns decides what each column holds, by its name or by what the person who has the file says.
func (p *plainTable) columns(names []string) error {
	var unnamed, flags, times []int
	var ignored []string
	roles := make([]role, len(names))
	headed := slices.ContainsFunc(names, func(s string) bool { return s != "" })
	for i, name := range names {
		r := roleOf(name)
		roles[i] = r
		switch {
		case r.zone:
			p.zone = i
		case r.flag:
			flags = append(flags, i)
		case r.other && (r.quantity != "" || r.unit != ""):
			ignored = append(ignored, name)
		case r.quantity != "":
			c, err := p.column(i, name, r.quantity, r.unit)
			if err != nil {
				return err
			}
			p.values = append(p.values, c)
		case r.day || r.hour || !headed && i == 0:
			times = append(times, i)
		case r.key:
			switch strings.ToLower(name) {
			case "site_no":
				p.station = len(p.keys)
			case "agency_cd":
				p.agency = len(p.keys)
			}
			p.keys = append(p.keys, key{column: i})
		case headed && roleless(name):
			ignored = append(ignored, name) // a number of the row, or nothing
		default:
			unnamed = append(unnamed, i)
		}
	}
	if len(times) == 0 { // Observed UTC: its rows tell
		if i := slices.IndexFunc(p.ahead(), p.isTime); i >= 0 && slices.Contains(unnamed, i) {
			times, unnamed = []int{i}, slices.DeleteFunc(unnamed, func(u int) bool { return u == i })
			roles[i].offset = offsetNamed(names[i])
		}
	}
	if len(names) == 1 {
		return p.wrongf(p.l.place(), "there is one column, and a table needs two, of times and of values, with a comma, a semicolon or a tab between them")
	}
	if len(times) == 0 {
		return p.wrongf(p.l.place(), "no column there is named as a time; name one date, time or datetime, and those of values as flow (cfs), stage (ft) or temperature (degC)")
	}
	p.timeOf(times, roles)
	for _, i := range times {
		if i != p.at && i != p.hour {
			ignored = append(ignored, names[i])
		}
	}
	if len(p.values) == 0 && len(unnamed) > 0 {
		if p.opt.Quantity == "" {
			return p.unsaidf(p.l.place(), "nothing there says whether the values are flow, stage or temperature; say which, or name the column as flow (cfs)")
		}
		i := slices.IndexFunc(unnamed, func(i int) bool { return roles[i].value || !headed })
		if i < 0 && len(unnamed) > 1 {
			return p.wrongf(p.l.place(), "nothing there says whether the values are in %s or in %s; name the column of them value", clip(names[unnamed[0]]), clip(names[unnamed[1]]))
		}
		i = max(i, 0)
		c, err := p.column(unnamed[i], names[unnamed[i]], p.opt.Quantity, roles[unnamed[i]].unit)
		if err != nil {
			return err
		}
		p.values, unnamed = append(p.values, c), slices.Delete(unnamed, i, i+1)
	}
	if len(p.values) == 0 {
		return p.wrongf(p.l.place(), "there is no column of flow, stage or water temperature")
	}
	for _, i := range unnamed {
		ignored = append(ignored, names[i])
	}
	for _, name := range ignored {
		p.leave(name)
	}
	for _, f := range flags {
		p.flagged(f, len(flags) == 1)
	}
	return nil
}

// flagged says which values a column of codes is about: the nearest before it, or all where there is one such column.
func (p *plainTable) flagged(column int, alone bool) {
	var nearest *plainColumn
	for _, c := range p.values {
		if alone {
			c.flag = column
		} else if c.value < column && (nearest == nil || c.value > nearest.value) {
			nearest = c
		}
	}
	if nearest != nil {
		nearest.flag = column
	}
}

// timeOf chooses among columns of times: those in UTC first, one of both day and hour before two.
func (p *plainTable) timeOf(times []int, roles []role) {
	find := func(is func(r role) bool) int {
		for _, utc := range []bool{true, false} {
			for _, i := range times {
				if (roles[i].offset != nil && *roles[i].offset == 0) == utc && is(roles[i]) {
					return i
				}
			}
		}
		return -1
	}
	both := find(func(r role) bool { return r.day && r.hour })
	day, hour := find(func(r role) bool { return r.day && !r.hour }), find(func(r role) bool { return r.hour && !r.day })
	switch {
	case both >= 0:
		p.at = both
	case day >= 0:
		p.at, p.hour = day, hour
	default:
		p.at = find(func(role) bool { return true })
	}
	if p.offset = roles[p.at].offset; p.hour >= 0 && p.offset == nil {
		p.offset = roles[p.hour].offset
	}
	if p.offset != nil && *p.offset != 0 {
		p.notes = append(p.notes, fmt.Sprintf("Times are read as %s from UTC, as the name of their column says.", offsetSaid(*p.offset)))
	}
}

func offsetSaid(minutes int) string {
	sign := '+'
	if minutes < 0 {
		sign, minutes = '-', -minutes
	}
	return fmt.Sprintf("%c%02d:%02d", sign, minutes/60, minutes%60)
}

func (p *plainTable) column(i int, name string, q gauge.Quantity, unit string) (*plainColumn, error) {
	if unit == "" {
		if u, ok := unitOf(p.opt.Unit); p.opt.Unit == "" || !ok || u.quantity == q || p.opt.Quantity == q {
			unit = p.opt.Unit
		}
	}
	place := p.l.place()
	if name != "" {
		place += ", column " + clip(name)
	}
	u, err := p.unitFor(q, unit, place)
	return &plainColumn{value: i, flag: -1, name: clip(name), quantity: q, unit: u}, err
}

// when is the time of the row as it stands.
func (p *plainTable) when() []byte {
	text := bytes.TrimSpace(p.cells[p.at])
	if p.hour >= 0 {
		hour := bytes.TrimSpace(p.cells[p.hour])
		if len(hour) == 4 && allDigits(string(hour)) {
			hour = slices.Concat(hour[:2], []byte(":"), hour[2:])
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
	if p.offset != nil && !w.known {
		w.offset, w.known = *p.offset, true
	}
	return w, p.dated(text, s, dot, w.seconds)
}

// sums are words that stand in place of a time in rows that sum up others.
var sums = strings.Fields("total totals sum mean average avg minimum min maximum max median count totaux somme moyenne")

func (p *plainTable) read() error {
	if word := strings.ToLower(strings.Trim(string(bytes.TrimSpace(p.cells[p.at])), ":")); slices.Contains(sums, word) {
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
var nothing = []string{"", "na", "n/a", "nan", "null", "none", "-", "–", "—", "---", "#n/a"}

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
	if slices.Contains(nothing, strings.ToLower(string(cell))) {
		r.v, r.has = math.NaN(), r.f&noValue&^gauge.Suspect != 0
		return r, nil
	}
	v, f, mark, err := p.numeral(cell, p.place(c.value))
	if err != nil {
		if why, known := p.codes.instead(latin(cell)); known {
			return plainReading{v: math.NaN(), f: r.f | why, has: true}, nil
		}
		return r, err
	}
	if slices.Contains(noneValues, v) {
		return plainReading{v: math.NaN(), f: r.f, has: true}, nil
	}
	return plainReading{v, r.f | f, mark, true}, nil
}

// take puts the rows into series, once all of them are known: the order of rows tells which pass of a repeated hour they are of.
func (p *plainTable) take() error {
	provider, number := "", ""
	if p.station >= 0 && p.agency >= 0 && p.keys[p.agency].first == "USGS" {
		// Of a number that is shorter a spreadsheet has taken zeros off, nobody knows how many.
		if number = p.keys[p.station].first; len(number) >= 8 {
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
