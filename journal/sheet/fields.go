package sheet

import (
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
