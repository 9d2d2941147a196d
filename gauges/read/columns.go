package read

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rigtally/journal/gauge"
)

// columns decides what each column holds, by its name or by what the person who has the file says.
func (p *plainTable) columns(names []string) error {
	var unnamed, flags, times, blank []int
	var ignored []string
	roles := make([]role, len(names))
	headed := slices.ContainsFunc(names, func(s string) bool { return s != "" })
	parts := partsOf(names)
	if !slices.ContainsFunc(names, func(name string) bool { return roleOf(name).date }) {
		p.parts = parts // else the year may be that of water, from October on
	}
	for i, name := range names {
		r := roleOf(name)
		roles[i] = r
		switch {
		case slices.Contains(parts, i):
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
			blank = append(blank, i) // a number of the row, or nothing
		default:
			unnamed = append(unnamed, i)
		}
	}
	if len(p.parts) > 0 {
		times = append([]int{p.parts[0]}, times...)
	}
	if len(times) == 0 { // Observed UTC: its rows tell
		if i := slices.IndexFunc(p.ahead(), p.isTime); i >= 0 && slices.Contains(append(unnamed, blank...), i) {
			other := func(u int) bool { return u == i }
			times, unnamed, blank = []int{i}, slices.DeleteFunc(unnamed, other), slices.DeleteFunc(blank, other)
			roles[i].offset = offsetNamed(names[i])
		}
	}
	if len(names) == 1 {
		return p.wrongf(p.l.place(), "there is one column, and a table needs two, of times and of values, with a comma, a semicolon or a tab between them")
	}
	if len(times) == 0 {
		return p.wrongf(p.l.place(), "no column there is named as a time; name one date, time or datetime, and those of values as flow (cfs), stage (ft) or temperature (degC)")
	}
	if p.timeOf(times, roles); len(p.parts) > 0 {
		p.at, p.hour = p.parts[0], -1
	}
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
	for _, i := range append(unnamed, blank...) {
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
	day, hour := find(func(r role) bool { return r.date && !r.hour }), find(func(r role) bool { return r.hour && !r.day })
	if day < 0 {
		day = find(func(r role) bool { return r.day && !r.hour })
	}
	switch {
	case both >= 0:
		p.at = both
	case day >= 0:
		p.at, p.hour = day, hour
	default:
		p.at = find(func(role) bool { return true })
	}
	p.hours = p.hour >= 0 && slices.Contains(strings.Fields("hour hr heure"), strings.ToLower(p.names[p.hour]))
	if p.offset = roles[p.at].offset; p.hour >= 0 && p.offset == nil {
		p.offset = roles[p.hour].offset
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
	for _, other := range p.values {
		if other.name == clip(name) && other.quantity == q {
			name += ", column " + strconv.Itoa(i+1) // one more by the same name
		}
	}
	u, err := p.unitFor(q, unit, place)
	return &plainColumn{value: i, flag: -1, name: clip(name), quantity: q, unit: u}, err
}

// partsOf finds columns of the parts of a time: year, month and day, then hour and minute where there are such.
func partsOf(names []string) (parts []int) {
	for _, list := range []string{"year yr année annee", "month mo mois", "day jour", "hour hr heure", "minute min"} {
		i := slices.IndexFunc(names, func(name string) bool { return slices.Contains(strings.Fields(list), strings.ToLower(name)) })
		if i < 0 {
			break
		}
		parts = append(parts, i)
	}
	if len(parts) < 3 {
		return nil
	}
	return parts
}
