package read

import (
	"bytes"
	"cmp"
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"rigtally/journal/gauge"
)

// plainTable is a table of anybody: times, values, perhaps words about them.
type plainTable struct {
	*table
	at, hour int // columns of the time, or of the day and the hour; hour is -1 for one column
	utc      bool
	values   []*plainColumn
	comma    string // the row that first had a decimal comma
	point    string
	codes    *codes
	dates    dates

	rows  []plainRow
	daily bool
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
	v   float64
	f   gauge.Flags
	has bool
}

// plain reads the rows below some names, or those that begin with the first line.
func (t *table) plain(names []string) error {
	p := &plainTable{table: t, hour: -1, codes: newCodes()}
	first := p.timed()
	if first {
		names = make([]string, len(names))
	}
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

// role is what the name of a column says that it holds.
type role struct {
	day, hour, flag, utc bool
	quantity             gauge.Quantity
	unit                 string
	other                bool // of a day, or of something else: the highest, the air
}

func roleOf(name string) (r role) {
	lower := strings.ToLower(name)
	words := strings.FieldsFunc(lower, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) })
	is := func(list string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return slices.Contains(strings.Fields(list), w) })
	}
	r.utc = is("utc gmt")
	r.day = is("date datetime timestamp day")
	r.hour = is("time datetime timestamp hour")
	r.flag = is("quality flag flags qualifier qualifiers code codes remark remarks status approval grade")
	r.other = is("max maximum min minimum high low air rain rainfall precipitation stage2 velocity depth conductance turbidity oxygen ph")
	switch {
	case is("flow discharge streamflow flows débit debit q qdaily qday qmean qinst"):
		r.quantity = gauge.Flow
	case is("temperature temp watertemp wtemp wt température"):
		r.quantity = gauge.Temperature
	case is("stage height level hauteur gageheight"):
		r.quantity = gauge.Stage
	}
	// A unit stands in brackets, or behind a comma, or as the last word: flow (cfs), discharge, ft3/s, stage_m, temp degC.
	for _, part := range strings.FieldsFunc(name, func(c rune) bool { return strings.ContainsRune("()[]{},\"", c) }) {
		if _, ok := unitOf(part); ok {
			r.unit = strings.TrimSpace(part)
		}
	}
	if r.unit == "" {
		for _, part := range strings.FieldsFunc(name, func(c rune) bool { return strings.ContainsRune("()[]{}_ ,:", c) })[min(1, len(words)):] {
			if u, ok := unitOf(part); ok && (r.quantity == "" || u.quantity == r.quantity) {
				r.unit = part
			}
		}
	}
	return r
}

// columns decides what each column holds, by its name or by what the person who has the file says.
func (p *plainTable) columns(names []string) error {
	var unnamed, flags, times []int
	var ignored []string
	roles := make([]role, len(names))
	named := slices.ContainsFunc(names, func(s string) bool { return s != "" })
	for i, name := range names {
		r := roleOf(name)
		roles[i] = r
		switch {
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
		case r.day || r.hour || !named && i == 0:
			times = append(times, i)
		default:
			unnamed = append(unnamed, i)
		}
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
		i := unnamed[0]
		c, err := p.column(i, names[i], p.opt.Quantity, roleOf(names[i]).unit)
		if err != nil {
			return err
		}
		p.values, unnamed = append(p.values, c), unnamed[1:]
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
				if roles[i].utc == utc && is(roles[i]) {
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
	p.utc = roles[p.at].utc || p.hour >= 0 && roles[p.hour].utc
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
		text = slices.Concat(text, []byte(" "), bytes.TrimSpace(p.cells[p.hour]))
	}
	return text
}

// timed reports whether the row begins with a time, so that it is no row of names.
func (p *plainTable) timed() bool {
	if _, ok := parseWall(p.when()); ok {
		return true
	}
	_, _, _, ok := parseDate(p.when())
	return ok
}

// wall is the time of the row. Of dates with the year last it is packed until settle.
func (p *plainTable) wall() (wall, error) {
	text := p.when()
	w, ok := parseWall(text)
	year, dot := yearFirst, false
	if !ok {
		if w, year, dot, ok = parseDate(text); !ok {
			return w, p.wrongf(p.l.place(), "%q is no time as 2012-05-02 10:15 (year, month, day), with an offset as -06:00 or in the zone that is named", clip(text))
		}
	}
	return w, p.dated(text, year, dot, w.seconds)
}

func (p *plainTable) read() error {
	w, err := p.wall()
	if err != nil {
		return err
	}
	if p.utc && !w.known {
		w.known = true
	}
	if len(p.rows) == 0 {
		p.daily = w.dayOnly
	}
	if p.daily != w.dayOnly {
		return p.wrongf(p.l.place(), "%s: some rows have a time of day and some don't", clip(bytes.TrimSpace(p.cells[p.at])))
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
var nothing = []string{"", "na", "n/a", "nan", "null", "none", "-", "#n/a"}

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
	if bytes.IndexByte(cell, '.') >= 0 && p.point == "" {
		p.point = p.l.place()
	}
	if i := bytes.IndexByte(cell, ','); i >= 0 && p.separator != ',' && bytes.Count(cell, []byte(",")) == 1 && bytes.IndexByte(cell, '.') < 0 {
		if p.comma == "" {
			p.comma = p.l.place()
		}
		cell = slices.Clone(cell)
		cell[i] = '.'
	}
	if p.comma != "" && p.point != "" {
		return r, p.wrongf(p.l.place(), "decimals are written with a comma (%s) and with a point (%s); which is it?", p.comma, p.point)
	}
	v, f, ok := value(cell)
	if !ok {
		why, known := p.codes.instead(latin(cell))
		if !known {
			return r, p.wrongf(p.l.place(), "%q is not a number", clip(latin(cell)))
		}
		return plainReading{math.NaN(), r.f | why, true}, nil
	}
	if slices.Contains(noneValues, v) {
		return plainReading{math.NaN(), r.f, true}, nil
	}
	return plainReading{c.unit.si(v), r.f | f, true}, nil
}

// take puts the rows into series, once all of them are known: the order of rows tells which pass of a repeated hour they are of.
func (p *plainTable) take() error {
	site, err := p.site("", "")
	if err != nil {
		return err
	}
	if err := p.settle(); err != nil {
		return err
	}
	if err := p.resolve(); err != nil {
		return err
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
			if err := p.add(s, time.Unix(p.rows[i].seconds, 0).UTC(), r.v, r.f, p.rows[i].place); err != nil {
				return err
			}
		}
		c.readings = nil
	}
	return nil
}

// resolve makes moments of the times of rows.
func (p *plainTable) resolve() error {
	var repeated []int // rows whose time clocks showed twice
	late := map[int]int64{}
	for i, r := range p.rows {
		switch {
		case p.daily:
		case r.known:
			p.rows[i].seconds -= 60 * int64(r.offset)
		default:
			at, err := p.either(r.wall(), r.place())
			if err != nil {
				return err
			}
			if p.rows[i].seconds = at[0].Unix(); len(at) == 2 {
				repeated = append(repeated, i)
				late[i] = at[1].Unix()
			}
		}
	}
	for len(repeated) > 0 {
		// Those of one autumn are within an hour or two of one another.
		n := 1
		for n < len(repeated) && math.Abs(float64(p.rows[repeated[n]].seconds-p.rows[repeated[0]].seconds)) < 3*3600 {
			n++
		}
		if err := p.secondPass(repeated[:n], late); err != nil {
			return err
		}
		repeated = repeated[n:]
	}
	return nil
}

// secondPass finds where the clock goes back in an hour that it showed twice. The hour must stand there twice.
func (p *plainTable) secondPass(rows []int, late map[int]int64) error {
	step := func(i int) int { return cmp.Compare(p.rows[rows[i]].seconds, p.rows[rows[i-1]].seconds) }
	down, up, back := 0, 0, -1
	for i := 1; i < len(rows); i++ {
		if step(i) > 0 {
			up++
		} else {
			down++
		}
	}
	newestFirst := down > up
	unclear := func(i int) error {
		at := p.rows[rows[i]]
		_, offset := time.Unix(at.seconds, 0).In(p.opt.Zone).Zone()
		return p.twice(wall{seconds: at.seconds + int64(offset)}, at.place())
	}
	for i := 1; i < len(rows); i++ {
		if turn := !newestFirst && step(i) <= 0 || newestFirst && step(i) >= 0; turn {
			if back >= 0 {
				return unclear(i)
			}
			back = i
		}
	}
	if back < 0 {
		return unclear(0)
	}
	for i, row := range rows {
		if (i >= back) != newestFirst {
			p.rows[row].seconds = late[row]
		}
	}
	return nil
}
