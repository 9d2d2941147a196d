// Package shape finds in a table of text what it is about: the rows that name the
// columns, rigs or flies that stand side by side, rows that are an event each, and
// cells that hold several values. Its functions are pure; what a header means comes
// in as a function. How a reader of sheets uses it:
//
//	h, ok := shape.Find(rows, merged, understand, "date") // of CSV: merged is nil
//	data := rows[h.After:]                                // without blank rows, totals and h.Again(cells)
//	switch {
//	case len(h.Problems) > 0:                             // the sheet as a whole can't be taken
//	case h.Fold != nil:
//		t := h.Fold.Unfold(data)                      // t.Names are the columns now
//	default:
//		e, problems := shape.FindEvents(h.Names, data, understand, words.Event)
//		if e != nil {
//			t := e.Gather(data)
//		}
//	}
//	shape.Lists(names, row, understand, isKnot)           // of each row, as written or of a Table
//
// A Table that comes back has one row for each stint, or for each fly of one. Rows of
// a Table that share a Stint are one stint, and those that share a Number one session,
// whatever their starts. Stints are numbered within the Table: of several sheets, the
// next one's go on from there. A row that Problems names is not among its rows.
package shape

import (
	"fmt"
	"strings"

	"rigtally/journal/field"
)

// Understand says what a header means: the key of a column as on export, "" where it
// isn't understood, LeftOut for a column that was left out by name.
type Understand func(header string) (key string)

// LeftOut is what Understand returns for a column that is to be left alone.
const LeftOut = "-"

// Row is a row of a table: its number as a spreadsheet shows it, from 1, and its cells.
type Row struct {
	Number int
	Cells  []string
}

func (r Row) cell(i int) string {
	if i >= 0 && i < len(r.Cells) {
		return r.Cells[i]
	}
	return ""
}

// Range is a merged range: rows by number, columns from 0, both ends within.
type Range struct{ Top, Left, Bottom, Right int }

// Problem is why a row, or a sheet as a whole, can't be taken as it stands.
type Problem struct {
	Row    int    // 0: the sheet as a whole
	Header string // as written; "" when it is about the whole row
	Text   string // of the cell, as written
	What   string // continues the text: "is a count of the day, …"
	Remedy string
	With   []int // further rows that are kept out with this one
}

func (p Problem) String() string {
	var b strings.Builder
	if p.Row > 0 {
		fmt.Fprintf(&b, "row %d", p.Row)
	}
	if p.Header != "" {
		if b.Len() > 0 {
			b.WriteString(", ")
		}
		b.WriteString(p.Header)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if p.Text != "" {
		fmt.Fprintf(&b, "“%s” ", p.Text)
	}
	return b.String() + p.What + "; " + p.Remedy
}

// Table is what unfolding and gathering make of a sheet's rows. It has no names where its
// problems are about the sheet as a whole.
type Table struct {
	Names    []string // headers of the columns, each of which is understood by itself, or isn't
	Rows     []Out
	Problems []Problem // by row
	Notes    []string  // what was done, in sentences
}

// Out is a row of a Table.
type Out struct {
	Number int // of the row as written; of several, the first
	With   []int
	Part   int // of a fold; 0 otherwise
	Stint  int // the same for the rows of one stint, from 1
	Cells  []string
}

// nature is what a column's cells are, by its key.
type nature uint8

const (
	count   nature = 1 << iota // of events
	span                       // an amount of the stint that isn't an event: minutes, casts
	measure                    // has a unit
	ofFly                      // tells of one fly
	ofTag                      // tells how a dropper's tag is tied, which the point hasn't
	ofDay                      // is shared by all that was fished that day
	clock                      // a time of day at which fishing began or ended
	knot
)

// natures of all that a column can tell. A test holds it against the list of columns.
var natures = map[string]nature{
	"date": ofDay, "session": ofDay, "angler": ofDay, "water": ofDay, "guide": ofDay, "beat": ofDay, "time_zone": ofDay, "session_notes": ofDay,
	"water_temp": ofDay | measure, "flow": ofDay | measure, "stage": ofDay | measure, "depth": ofDay | measure, "velocity": ofDay | measure,
	"gauge_flow_m3s": ofDay, "gauge_flow_percentile": ofDay, "gauge_trend_6h": ofDay, "gauge_trend_24h": ofDay, "gauge_stage_m": ofDay, "gauge_water_temp_c": ofDay,
	"gauge_water_temp_peak_c": ofDay, "gauge_provisional": ofDay, "gauge_site": ofDay,
	"storm": ofDay, "clarity": ofDay, "wind": ofDay, "light": ofDay,
	"start": clock, "end": clock, "minutes": span | measure, "break_minutes": span | measure, "casts": span,
	"junction": ofFly | ofTag | knot, "facing": ofFly | ofTag, "prop": ofFly | ofTag, "hang": ofFly | ofTag,
	"tag_length": ofFly | ofTag | measure, "tag_start": ofFly | ofTag | measure, "tag_end": ofFly | ofTag | measure, "distance": ofFly | ofTag | measure,
	"tippet": ofFly | measure, "material": ofFly, "fly": ofFly, "hook_size": ofFly, "bead": ofFly | measure, "bulk": ofFly,
	"fly_speed": measure, "rod_length": measure, "leader_length": measure, "sighter_length": measure, "tippet_length": measure,
	"fish": count, "hookups": count, "foul_hookups": count, "untold_hookups": count, "fair_hookups": count, "landed": count, "lost": count, "fair_lost": count,
	"broke_off": count, "junction_breaks": count, "snags": count, "tangles": count, "twists": count, "wind_knots": count, "nests": count,
	"untimed_tangles": count, "checks": count, "turns": count, "fly_changes": count, "reties": count, "junction_loads": count,
	"junction_failures": count, "uncounted": count, "minutes_lost": count | measure,
}

func (n nature) is(any nature) bool { return n&any != 0 }

// plain gives a text in small letters without accents, single blanks between words.
func plain(s string) string { return strings.Join(strings.Fields(field.Plain(s)), " ") }

// squeezed gives a header without what people write in different ways: blanks and marks between words.
func squeezed(s string) string {
	return strings.NewReplacer(" ", "", "_", "", "-", "", ".", "", ":", "").Replace(plain(s))
}

func alike(a, b string) bool { return squeezed(a) == squeezed(b) }

// known reports whether a header is understood and not to be left alone.
func (u Understand) known(header string) (key string, ok bool) {
	key = u(header)
	return key, key != "" && key != LeftOut
}
