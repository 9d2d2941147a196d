package sheet

import (
	"slices"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
)

// field is something that a column can tell, and how that is read.
type field struct {
	*exchange.Column
	set func(c *column, r *row, cell string) error
}

// fields lists everything that a column can tell.
func fields() []*field {
	const title = maxName + len(" (revision 999999)")
	all := readable(exchange.Columns(), map[string]func(*column, *row, string) error{
		"date":              setDate,
		"session":           setText(maxName, cleanText, func(r *row) *string { return &r.Session }),
		"angler":            setText(maxName, cleanName, func(r *row) *string { return &r.Angler }),
		"water":             setText(maxName, cleanName, func(r *row) *string { return &r.Water }),
		"guide":             setText(maxName, cleanName, func(r *row) *string { return &r.Guide }),
		"beat":              setText(maxName, cleanName, func(r *row) *string { return &r.Beat }),
		"rig":               setText(title, cleanText, func(r *row) *string { return &r.Rig }),
		"time_zone":         reading(func(r *row) *string { return &r.Zone }, readZone),
		"start":             reading(func(r *row) **int { return &r.Start }, readClock),
		"end":               reading(func(r *row) **int { return &r.End }, readClock),
		"stint":             reading(func(r *row) **int { return &r.Stint }, func(c *column, cell string) (*int, error) { return c.whole(cell, 1, 30000) }),
		"position":          reading(func(r *row) *exchange.Place { return &r.Place }, readPosition),
		"junction":          setJunction,
		"minutes_lost":      reading(func(r *row) **int { return &r.Tally[journal.CountMinutesLost] }, readMinutesLost),
		"uncounted":         setUncounted,
		exchange.CountsKept: setCountsKept,
	})
	all = append(all, pendingFields()...)
	return append(all, problemField(), &field{&exchange.Column{Key: "break_minutes", Title: "the breaks, taken off the time from start to end", Quantity: units.Duration}, reading(func(r *row) **float64 { return &r.breaks }, readBreaks)})
}

// readable pairs columns with how each is read, where that is not as the catalogue has it.
func readable(columns []*exchange.Column, readers map[string]func(*column, *row, string) error) []*field {
	all := make([]*field, len(columns))
	for i, c := range columns {
		f := &field{c, readers[c.Key]}
		switch {
		case f.set != nil:
		case c.Noted != nil:
			f.set = setNoted(*c.Noted)
		case c.Of != nil:
			f.set = setCount(*c.Of)
		default:
			f.set = ignore // it follows from the rest
		}
		all[i] = f
	}
	return all
}

// problemField is the column of a file of rows that an earlier import refused.
func problemField() *field {
	return &field{&exchange.Column{Key: "problem", Title: "what was wrong with it at an earlier import"}, ignore}
}

func ignore(*column, *row, string) error { return nil }

// FieldChoice is something that a column can be chosen as.
type FieldChoice struct {
	Key   string   // of a ColumnRule
	Title string   // in words: "the tag length as tied"
	Group string   // under which it is shown
	Units []string // that may stand behind the key, as in tag_length_in: what bare numbers are in
}

// Fields lists what a column can be chosen as.
func Fields() []FieldChoice {
	var list []FieldChoice
	for _, f := range fields() {
		if f.pending() {
			continue
		}
		choice := FieldChoice{Key: f.Key, Title: f.Title, Group: f.group()}
		for _, u := range units.Of(f.Quantity) {
			choice.Units = append(choice.Units, string(u))
		}
		list = append(list, choice)
		for _, v := range variants {
			if v.of == f.Key {
				list = append(list, FieldChoice{Key: v.key, Title: f.Title + ", " + v.title, Group: choice.Group})
			}
		}
	}
	return list
}

// group is the heading under which a field is offered.
func (f *field) group() string {
	switch {
	case f.Of != nil:
		return "What happened"
	case slices.Contains([]string{"minutes", "start", "end", "casts", "stint", "break_minutes"}, f.Key):
		return "Time"
	case f.Noted == nil && f.Key != "rig" && f.Key != "position":
		return "Who, where and when"
	}
	return "Rig and conditions"
}

// variants are keys that say more than which field a column is.
var variants = []struct {
	key, of, title string
	also           meaning
}{
	{keyHours, "minutes", "in hours: 1.5 is 1 h 30 min", meaning{unit: units.Hour}},
	{keyHourPoint, "minutes", "in hours and minutes: 1.30 is 1 h 30 min", meaning{unit: units.Hour, hourPoint: true}},
	{keyDayFirst, "date", "day first: 4/6 is 4 June", meaning{order: DayFirst}},
	{keyMonthFirst, "date", "month first: 4/6 is April 6", meaning{order: MonthFirst}},
}
