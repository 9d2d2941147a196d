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
	Nobody
	Phone // people with a narrow screen
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
	Title   string   // what its numbers are; may be empty
	OnPage  []string // keys of its columns in the order of a page, which has room for few; nil as they stand
	OnPhone []string // keys of what a phone shows of a row: beside its name, and then below it; nil: its first number
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

// Columns are what a table tells of things, column by column.
type Columns[T any] struct {
	columns []*Column
	cells   []func(T) Cell
}

// Add adds a column with what it tells of a thing. What is returned may be changed until the
// table is made.
func (c *Columns[T]) Add(key, title string, cell func(T) Cell) *Column {
	column := &Column{Key: key, Title: title}
	c.columns, c.cells = append(c.columns, column), append(c.cells, cell)
	return column
}

// Words adds a column of words, the same for programs.
func (c *Columns[T]) Words(key, title string, text func(T) string) *Column {
	column := c.Add(key, title, func(t T) Cell { return Text(text(t)) })
	column.Words = true
	return column
}

// Said adds a column for people alone.
func (c *Columns[T]) Said(key, title string, text func(T) string) *Column {
	column := c.Add(key, title, func(t T) Cell { return Said(text(t)) })
	column.For = People
	return column
}

// Count adds a column of whole numbers.
func (c *Columns[T]) Count(key, title string, n func(T) int) *Column {
	return c.Add(key, title, func(t T) Cell { return Count(n(t)) })
}

// Number adds a column of numbers, worded by text; what is nil does not exist and is Unknown.
func (c *Columns[T]) Number(key, title string, text func(float64) string, v func(T) *float64) *Column {
	return c.Add(key, title, func(t T) Cell {
		if v := v(t); v != nil {
			return Cell{text(*v), *v}
		}
		return Cell{Text: Unknown}
	})
}

// Value adds a column of numbers for programs alone; nil is a number that does not exist.
func (c *Columns[T]) Value(key string, v func(T) *float64) *Column {
	column := c.Add(key, "", func(t T) Cell { return Number("", v(t)) })
	column.For = Programs
	return column
}

// Values adds columns of numbers for programs alone, all told by one function; a thing that has
// none of them gives nil.
func (c *Columns[T]) Values(of func(T) []*float64, keys ...string) {
	for i, key := range keys {
		c.Value(key, func(t T) *float64 {
			if list := of(t); list != nil {
				return list[i]
			}
			return nil
		})
	}
}

// Plain adds a column of words for programs alone.
func (c *Columns[T]) Plain(key string, text func(T) string) *Column {
	column := c.Add(key, "", func(t T) Cell { return Cell{Value: text(t)} })
	column.For = Programs
	return column
}

// Make lays things out, one in a row.
func (c *Columns[T]) Make(things []T) Table {
	t := Table{Columns: make([]Column, len(c.columns)), Rows: make([]Row, len(things))}
	for j, column := range c.columns {
		t.Columns[j] = *column
	}
	for i, thing := range things {
		for _, cell := range c.cells {
			t.Rows[i].Cells = append(t.Rows[i].Cells, cell(thing))
		}
	}
	return t
}

// Pick keeps the columns of the keys that people see, in that order; a key that the table lacks is
// passed over.
func (t Table) Pick(keys ...string) Table {
	t = t.shown(People)
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
		if c.For == Everyone || c.For == to || to == Phone && c.For == People {
			at = append(at, i)
		}
	}
	return t.at(at)
}

func (t Table) at(columns []int) Table {
	out := Table{Title: t.Title, OnPage: t.OnPage, OnPhone: t.OnPhone, Rows: make([]Row, len(t.Rows))}
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

// Cell returns the first cell of a row under a key; the zero Cell when there is none.
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
		if text := t.Rows[row].Cells[i].Text; !words && c.For != Programs && c.For != Phone && text != "" {
			pairs = append(pairs, Pair{c.Title, text})
		}
	}
	return pairs
}

// Texts are the headings and cells for people.
func (t Table) Texts() (head []string, rows [][]string) {
	t = t.shown(People)
	for _, c := range t.Columns {
		head = append(head, c.Title)
	}
	for _, row := range t.Rows {
		var texts []string
		for _, c := range row.Cells {
			texts = append(texts, c.Text)
		}
		rows = append(rows, texts)
	}
	return head, rows
}

// Words makes a table of texts alone, whose first columns, so many, are words.
func Words(title string, words int, head []string, rows [][]string) Table {
	var c Columns[[]string]
	for i, h := range head {
		c.Said(h, h, func(row []string) string { return row[i] }).Words = i < words
	}
	t := c.Make(rows)
	t.Title = title
	return t
}
