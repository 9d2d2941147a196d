// Package sheet reads spreadsheets as anglers keep them, says how it understood them, and brings them into the journal.
package sheet

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet/grid"
	"rigtally/journal/words"
)

// Sheet is a spreadsheet as it was understood, before anything is written.
type Sheet struct {
	Name     string
	Columns  []Column
	Rows     int // data rows, bad ones included
	Sessions int // that the good rows make
	Stints   int
	Skipped  []SkippedRow
	Bad      []BadCell    // by row and column
	Choices  []string     // what was settled for the whole file, and why, in sentences
	Warnings []string     // what may not be meant as it was read, in sentences
	Accepted []BadCell    // doubtful cells that were taken as they stand, as asked for
	Stops    []Stop       // columns that must be chosen or left out before anything is written
	Sheets   []TakenSheet // of a workbook

	options   Options
	layout    layout
	words     *words.Table
	reader    *reader
	tables    []*table
	guess     bool // the header is a guess: none has the column that it must have
	lacking   bool // a column without which no row can be taken
	origin    origin
	counts    [len(journal.Counts{})]bool // that some column tells
	separator byte
	columns   []*column
	rows      []*row // good and bad
	totals    []total
	outings   []*outing

	nights      []string // rows whose end was taken as the next day's
	sharedTimes int      // stints whose time start and end don't tell apart

	outingFields, stintFields []*field
	conflicts                 map[string]conflict // by field: rows that differ from the first of their session
	soundRigs                 map[string]bool     // by tying: rigs that pass the journal's rules
	shared                    shared
	rigs                      map[string]sharedRig // by tying and flies
}

// SkippedRow is a row that holds no data.
type SkippedRow struct {
	Sheet string // of a workbook
	Row   int    // as a spreadsheet shows it: the first row is 1
	Why   string
}

// BadCell is a cell that can't be taken as it stands.
type BadCell struct {
	Sheet   string // of a workbook
	Row     int    // as a spreadsheet shows it
	Column  string // the header as written; "" when it is about the whole row
	Value   string // as written
	Problem string // continues the value: "is below zero"
	Remedy  string

	row *row
}

func (b BadCell) String() string {
	at := atRow(b.Sheet, b.Row)
	if b.Column != "" {
		at += ", " + b.Column
	}
	if b.Value == "" {
		return fmt.Sprintf("%s: %s; %s", at, b.Problem, b.Remedy)
	}
	return fmt.Sprintf("%s: “%s” %s; %s", at, shown(b.Value), b.Problem, b.Remedy)
}

// shown makes a value short enough for a message.
func shown(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if runes := []rune(s); len(runes) > 60 {
		return string(runes[:60]) + "…"
	}
	return s
}

// Read reads a spreadsheet, CSV or a workbook, without touching the journal. Its
// error is about the file as a whole; cells that can't be taken are in Sheet.Bad,
// and columns that somebody must decide about in Sheet.Stops.
func Read(ctx context.Context, r io.Reader, name string, opt Options) (*Sheet, error) {
	return fishing.read(ctx, r, name, opt)
}

// layout is what rows of one kind tell, and how they are taken.
type layout struct {
	fields  func() []*field
	words   func(*words.Table) *words.Table
	key     string // of a column that the header has
	example string // of a header
	pulls   bool   // its rows are of pulls: never events, and columns that are not understood are let be
	settle  func(s *Sheet) error
	check   func(s *Sheet, r *row) // what its cells say together
	after   func(s *Sheet)         // all rows
}

// fishing are rows of stints and flies.
var fishing = layout{fields, func(w *words.Table) *words.Table { return w }, "date", "date, angler, water, minutes, junction, tag_in, hookups, tangles", false, (*Sheet).settle, (*Sheet).checkRow, func(s *Sheet) {
	s.afterRows()
	s.checkTotals()
	s.group()
}}

func (l layout) read(ctx context.Context, r io.Reader, name string, opt Options) (*Sheet, error) {
	s := &Sheet{Name: name, options: opt, layout: l, words: opt.Words}
	if s.words == nil {
		s.words = words.Built()
	}
	var err error
	if s.reader, err = newReader(l.fields(), l.words(s.words), opt.Columns); err == nil {
		err = s.read(ctx, r)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return s, nil
}

// read understands the headers, then the columns, then the rows.
func (s *Sheet) read(ctx context.Context, r io.Reader) error {
	if err := s.load(ctx, r); err != nil {
		return err
	}
	if err := s.checkRules(); err != nil {
		return err
	}
	for _, t := range s.tables {
		if err := s.checkAbove(t); err != nil {
			return err
		}
		s.takeLines(t)
		t.spread()
		s.fillDown(t)
	}
	if err := s.unfold(); err != nil {
		return err
	}
	if err := s.settleDoubles(); err != nil {
		return err
	}
	if err := s.layout.settle(s); err != nil {
		return err
	}
	if !s.lacking {
		for i, r := range s.rows {
			if i%1000 == 0 && ctx.Err() != nil {
				return ctx.Err()
			}
			if s.layout.pulls {
				r.Pull = &journal.BenchPull{}
			}
			r.Catalogue = exchange.Untold()
			s.understandCells(r)
			s.layout.check(s, r)
			s.shared.keep(&r.Catalogue)
		}
		s.shared = shared{}
		s.layout.after(s)
	}
	s.finish()
	return nil
}

// find returns a field's column and its place.
func (s *Sheet) find(key string) (int, *column) {
	for i, c := range s.columns {
		if c.field != nil && c.field.Key == key {
			return i, c
		}
	}
	return len(s.columns), nil
}

func (s *Sheet) has(key string) bool {
	_, c := s.find(key)
	return c != nil
}

// cells yields every cell of a column that says something.
func (s *Sheet) cells(at int) iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, r := range s.rows {
			if at < len(r.cells) && !units.IsBlank(r.cells[at]) && !yield(r.cells[at]) {
				return
			}
		}
	}
}

// understandCells reads every cell of a row.
func (s *Sheet) understandCells(r *row) {
	for i := range max(len(r.cells), len(s.columns)) {
		cell := r.cell(i)
		switch {
		case i >= len(s.columns):
			if !units.IsBlank(cell) {
				s.bad(r, "", cell, &problem{what: fmt.Sprintf("is in cell %d, but the header has %d", i+1-len(s.columns)+r.of.width, r.of.width),
					remedy: "put quotation marks around a value that has the separator in it, or give the column a header"})
			}
		case slices.Contains(r.lists, i):
		case cell == grid.NotComputed && s.columns[i].field != nil:
			s.bad(r, r.of.headers[i], cell, &problem{what: "is a formula whose value the workbook does not hold", remedy: "open the workbook in your spreadsheet program and save it"})
		case s.columns[i].Reading != nil:
			if r.of.has(i) {
				s.takeCount(s.columns[i], r, cell)
			}
		case s.columns[i].field == nil || units.IsBlank(cell):
		case grid.Failed(cell):
			s.bad(r, r.of.headers[i], cell, &problem{what: "is a formula that fails", remedy: "correct the formula, or write what it should give"})
		default:
			if err := s.columns[i].field.set(s.columns[i], r, cell); err != nil {
				s.bad(r, r.of.headers[i], cell, err)
			}
		}
	}
}

// bad notes that a row can't be taken.
func (s *Sheet) bad(r *row, header, value string, err error) {
	r.bad = true
	b := BadCell{Sheet: r.of.name, Row: r.number, Column: header, Value: value, Problem: err.Error(), Remedy: "correct it", row: r}
	var p *problem
	if errors.As(err, &p) {
		b.Problem, b.Remedy = p.what, p.remedy
		if p.field != "" {
			b.Column, b.Value = s.cellOf(r, p.field)
		}
	}
	if b.Column != "" && slices.Contains(r.accused, b.Column) {
		return
	}
	r.accused = append(r.accused, b.Column)
	s.Bad = append(s.Bad, b)
}

// cellOf returns the header and the text of a row's cell for a field.
func (s *Sheet) cellOf(r *row, key string) (header, value string) {
	at, c := s.findIn(r.of, key)
	if c == nil {
		return "", ""
	}
	return r.of.headers[at], r.cell(at)
}

// BadRows counts the rows that are kept out: those with a bad cell, and those
// that make a stint together with one.
func (s *Sheet) BadRows() int {
	n := 0
	var last *row
	for _, r := range s.rows {
		if !r.bad || last != nil && last.sameLine(r) { // rigs side by side
			continue
		}
		n += 1 + len(r.others)
		last = r
	}
	return n
}

// finish puts the findings into the form in which they are reported.
func (s *Sheet) finish() {
	order := func(b BadCell) int {
		return slices.IndexFunc(s.tables, func(t *table) bool { return t == b.row.of.table })
	}
	slices.SortStableFunc(s.Bad, func(a, b BadCell) int { return cmp.Or(cmp.Compare(order(a), order(b)), cmp.Compare(a.Row, b.Row)) })
	s.sayMiddles()
	for i, c := range s.columns {
		const samples = 3
		for cell := range s.cells(i) {
			if !slices.Contains(c.Samples, shown(cell)) {
				c.Samples = append(c.Samples, shown(cell))
			}
			if len(c.Samples) == samples {
				break
			}
		}
		if c.field != nil && c.field.Quantity != "" {
			c.describeUnit()
		}
		s.describeParts(i, c)
		s.Columns = append(s.Columns, c.Column)
	}
	s.stoppedSamples()
	for _, o := range s.outings {
		s.Stints += len(o.stints)
	}
	s.Sessions = len(s.outings)
}

// describeParts says in which sheets a column is missing.
func (s *Sheet) describeParts(i int, c *column) {
	if len(c.Headers) == 1 && c.Headers[0] == c.Header {
		c.Headers = nil
	}
	for _, t := range s.tables {
		if !slices.ContainsFunc(t.parts, func(p *part) bool { return p.has(i) }) {
			c.Missing = append(c.Missing, t.name)
		}
	}
}

func (c *column) describeUnit() {
	c.UnitFrom = "header"
	u := c.unit
	if u == "" {
		c.UnitFrom, u = "default", c.bare()
	}
	switch {
	case u != "":
		c.Unit = u.Symbol()
		return
	case c.field.Noted != nil && c.field.Noted.Fixed != "":
		c.Unit = c.field.Noted.Fixed.Symbol()
		return
	case c.field.Quantity == units.Tippet:
		c.Unit = "X or mm"
		return
	}
	c.UnitFrom = ""
}
