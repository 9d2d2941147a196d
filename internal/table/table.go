// Package table is the table of an answer: columns by key, cells with a text for people and a
// value for programs, for pages, terminals, spreadsheets and what pointing at a chart shows.
package table

import (
	"slices"
	"strconv"
)

// Column heads what stands below it.
type Column struct {
	Key   string // names it in CSV and where columns are chosen
	Title string // heads it for people
	Words bool   // its cells are words and line up to the left
	For   Reader // who gets to see it
	Spare int    // 0: always shown; of others the highest gives way first where room is short
	Below string // key of the column in whose cells it is a second line, where there is room for few
	Mark  string // written before a text that stands below another
}

// Reader is who reads a column.
type Reader int

// Most columns are for people and programs. An interval as one text is for people; programs
// have its ends.
const (
	Everyone Reader = iota
	People
	Programs
)

// Cell is a place in the table.
type Cell struct {
	Text  string // for people
	Value any    // for programs: nil (there is none), a string, an int or a float64
}

// Row is one line of the table.
type Row struct {
	Cells []Cell
	Href  string // where the row leads; may be empty
}

// Table is an answer's table.
type Table struct {
	Title   string // what its numbers are; may be empty
	Columns []Column
	Rows    []Row
}

// Unknown stands for what can't be computed.
const Unknown = "?"

// Text is a cell of words, the same for programs.
func Text(s string) Cell { return Cell{s, s} }

// Said is a cell for people alone.
func Said(s string) Cell { return Cell{Text: s} }

// Count is a cell of a whole number.
func Count(n int) Cell { return Cell{strconv.Itoa(n), n} }

// Number is a cell of a number, as people read it; v may be nil, as what does not exist.
func Number(text string, v *float64) Cell {
	if v == nil {
		return Cell{Text: text}
	}
	return Cell{text, *v}
}

// Value is a cell for programs alone; v may be nil.
func Value(v *float64) Cell { return Number("", v) }

// Make lays out things, one in a row: each column with what it tells of a thing.
func Make[T any](things []T, columns ...Of[T]) Table {
	t := Table{Columns: make([]Column, len(columns)), Rows: make([]Row, len(things))}
	for j, c := range columns {
		t.Columns[j] = c.Column
	}
	for i, thing := range things {
		t.Rows[i].Cells = make([]Cell, len(columns))
		for j, c := range columns {
			t.Rows[i].Cells[j] = c.Cell(thing)
		}
	}
	return t
}

// Of is a column with what it tells of a thing.
type Of[T any] struct {
	Column
	Cell func(T) Cell
}

// Pick keeps the columns of the keys, in their order; a key that the table lacks is passed over.
func (t Table) Pick(keys ...string) Table {
	var at []int
	for _, key := range keys {
		if i := t.index(key); i >= 0 {
			at = append(at, i)
		}
	}
	return t.at(at)
}

// shown keeps the columns that people see, or those that programs get.
func (t Table) shown(to Reader) Table {
	var at []int
	for i, c := range t.Columns {
		if c.For == Everyone || c.For == to {
			at = append(at, i)
		}
	}
	return t.at(at)
}

func (t Table) at(columns []int) Table {
	out := Table{Title: t.Title, Rows: make([]Row, len(t.Rows))}
	for _, i := range columns {
		out.Columns = append(out.Columns, t.Columns[i])
	}
	for r, row := range t.Rows {
		out.Rows[r].Href = row.Href
		for _, i := range columns {
			out.Rows[r].Cells = append(out.Rows[r].Cells, row.Cells[i])
		}
	}
	return out
}

func (t Table) index(key string) int {
	return slices.IndexFunc(t.Columns, func(c Column) bool { return c.Key == key })
}

// Cell returns the cell of a row under a key; the zero Cell when there is none.
func (t Table) Cell(row int, key string) Cell {
	if i := t.index(key); i >= 0 {
		return t.Rows[row].Cells[i]
	}
	return Cell{}
}

// Pair is a heading with what stands below it.
type Pair struct{ Title, Text string }

// Detail pairs the headings for people with the texts of a row, without empty ones and without
// the columns of words that lead it.
func (t Table) Detail(row int) []Pair {
	var pairs []Pair
	words := true
	for i, c := range t.Columns {
		words = words && c.Words
		if text := t.Rows[row].Cells[i].Text; !words && c.For != Programs && text != "" {
			pairs = append(pairs, Pair{c.Title, text})
		}
	}
	return pairs
}
