package sheet

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/pg"
)

// Remembered is what a person chose of how a sheet is read, kept for the next one of
// the same headers. Names are not: who is meant by one may be another the next time.
type Remembered struct {
	Columns []ColumnRule  `json:"columns,omitempty"`
	Blanks  []BlankRule   `json:"blanks,omitempty"`
	Sheets  []string      `json:"sheets,omitempty"`
	Dates   DateOrder     `json:"dates,omitempty"`
	Decimal units.Decimal `json:"decimal,omitempty"`
	Units   units.System  `json:"units,omitempty"`
	Ranges  RangeRule     `json:"ranges,omitempty"`
	Angler  string        `json:"angler,omitempty"`
	Water   string        `json:"water,omitempty"`
}

// Remember is what of the options is worth remembering.
func (o Options) Remember() Remembered {
	return Remembered{o.Columns, o.Blanks, o.Sheets, o.Dates, o.Decimal, o.Units, o.Ranges, o.Angler, o.Water}
}

// Any reports whether anything was chosen.
func (r Remembered) Any() bool { return len(r.Sentences()) > 0 }

// Under is the options with what they leave open taken from what is remembered.
func (r Remembered) Under(o Options) Options {
	for _, c := range r.Columns {
		if !slices.ContainsFunc(o.Columns, func(own ColumnRule) bool { return sameHeader(own.Header, c.Header) }) {
			o.Columns = append(o.Columns[:len(o.Columns):len(o.Columns)], c)
		}
	}
	for _, b := range r.Blanks {
		if !slices.ContainsFunc(o.Blanks, func(own BlankRule) bool { return sameHeader(own.Header, b.Header) }) {
			o.Blanks = append(o.Blanks[:len(o.Blanks):len(o.Blanks)], b)
		}
	}
	if len(o.Sheets) == 0 {
		o.Sheets = r.Sheets
	}
	o.Dates, o.Units, o.Ranges = orElse(o.Dates, r.Dates), orElse(o.Units, r.Units), orElse(o.Ranges, r.Ranges)
	o.Decimal, o.Angler, o.Water = orElse(o.Decimal, r.Decimal), orElse(o.Angler, r.Angler), orElse(o.Water, r.Water)
	return o
}

func orElse[T comparable](own, other T) T {
	var none T
	if own == none {
		return other
	}
	return own
}

// Sentences tells what is remembered: "Member is the angler".
func (r Remembered) Sentences() []string {
	var list []string
	say := func(really bool, format string, args ...any) {
		if really {
			list = append(list, fmt.Sprintf(format, args...))
		}
	}
	for _, c := range r.Columns {
		say(c.Key == "", "%s is left out", shown(c.Header))
		say(c.Key != "", "%s is %s", shown(c.Header), c.Title())
	}
	for _, b := range r.Blanks {
		say(true, "blanks of %s are %s", shown(b.Header), b.Is.words())
	}
	say(len(r.Sheets) > 0, "of the workbook, the sheets %s", strings.Join(r.Sheets, ", "))
	say(r.Dates != DatesAuto, "dates are %s", r.Dates)
	say(r.Decimal == units.DecimalPoint, "a point begins the decimals")
	say(r.Decimal == units.DecimalComma, "a comma begins the decimals")
	say(r.Units == units.US, "bare numbers are US units")
	say(r.Units == units.Metric, "bare numbers are metric")
	say(r.Ranges == RangesMiddle, "ranges are taken as their middle")
	say(r.Angler != "", "%s fished", r.Angler)
	say(r.Water != "", "the water is %s", r.Water)
	return list
}

// Title says in words what a column is by a rule: "the angler", "the tag length as tied in inches".
func (r ColumnRule) Title() string {
	for _, f := range Fields() {
		if r.Key == f.Key {
			return f.Title
		}
		if unit, ok := strings.CutPrefix(r.Key, f.Key+"_"); ok && slices.Contains(f.Units, unit) {
			return f.Title + " in " + units.Unit(unit).Symbol()
		}
	}
	return r.Key
}

// ReadAsBefore reads a sheet as somebody had it read the last time, as far as the options
// leave that open. It tells what it remembered of that.
func ReadAsBefore(ctx context.Context, store *pg.Store, text []byte, name string, opt Options) (*Sheet, Remembered, error) {
	var last Remembered
	s, err := Read(ctx, bytes.NewReader(text), name, opt)
	if err != nil {
		return s, last, err
	}
	kept, known, err := store.Reading(ctx, s.Headers())
	if err != nil || !known {
		return s, last, err
	}
	if err := json.Unmarshal(kept, &last); err != nil {
		return s, Remembered{}, nil // of a later version: nothing that can be used
	}
	s, err = Read(ctx, bytes.NewReader(text), name, last.Under(opt))
	return s, last, err
}

// Keep remembers what was chosen for sheets of these headers; nothing chosen forgets what was.
func (r Remembered) Keep(ctx context.Context, store *pg.Store, headers []string) error {
	if !r.Any() {
		return store.ForgetReading(ctx, headers)
	}
	text, err := json.Marshal(r)
	if err != nil {
		return err
	}
	return store.KeepReading(ctx, headers, text)
}
