package grid

import (
	"errors"
	"math"
	"strconv"
	"strings"
)

// sheetReader reads the XML of one sheet of an .xlsx (ECMA-376 part 1, 18.3).
type sheetReader struct {
	*xlsx
	table  *Table
	hidden []Range // columns

	row      Row      // the row at hand
	cells    []string // its cells
	last     int      // its last cell's column
	value    []byte
	sharedBy map[string]string // formulas that several cells share, as their first has them
}

func (r *sheetReader) read(s *scanner) error {
	return s.each(func(element string) error {
		switch element {
		case "col":
			if s.is("hidden") {
				left, _ := strconv.Atoi(s.attr("min"))
				right, _ := strconv.Atoi(s.attr("max"))
				r.hidden = append(r.hidden, Range{Left: left - 1, Right: min(right, maxColumns) - 1})
			}
		case "row":
			return r.readRow(s)
		case "mergeCell":
			m, ok := parseRange(s.attr("ref"))
			if !ok || len(r.table.Merged) >= maxMerged {
				return errXML
			}
			if m.Top != m.Bottom || m.Left != m.Right {
				r.table.Merged = append(r.table.Merged, m)
			}
		case "extLst":
			return s.passOver()
		}
		return nil
	})
}

var errOrder = errors.New("rows or cells are out of order")

func (r *sheetReader) readRow(s *scanner) error {
	before := r.row.Number
	r.row = Row{Number: before + 1, Hidden: s.is("hidden")}
	if at := s.attrBytes("r"); len(at) > 0 {
		n, ok := atoi(at)
		if !ok || n <= before {
			return errOrder
		}
		r.row.Number = n
	}
	if r.row.Number > lastRow {
		return errOrder
	}
	r.cells, r.last = r.cells[:0], -1
	for depth := s.depth; ; {
		k, err := s.next()
		switch {
		case err != nil:
			return err
		case k == startElement && string(s.name) == "c":
			if err := r.readCell(s); err != nil {
				return err
			}
		case k == endElement && s.depth < depth:
			return r.addRow(r.table, r.row.Number, r.row.Hidden, r.cells)
		}
	}
}

func (r *sheetReader) readCell(s *scanner) error {
	column := r.last + 1
	if at := s.attrBytes("r"); len(at) > 0 {
		c, row, ok := parseCell(at)
		if !ok || row != r.row.Number || c < column {
			return errOrder
		}
		column = c
	}
	if r.last = column; column > lastColumn {
		return errOrder
	}
	var kind byte
	if t := s.attrBytes("t"); len(t) > 0 {
		if kind = t[0]; string(t) == "str" {
			kind = 't'
		}
	}
	f := &general
	if style := s.attrBytes("s"); len(style) > 0 {
		if n, ok := atoi(style); ok && n < len(r.formats) {
			f = &r.formats[n]
		}
	}
	r.value = r.value[:0]
	formulaText, has, stored := "", false, false
	for depth := s.depth; ; {
		k, err := s.next()
		if err != nil {
			return err
		}
		if k == endElement && s.depth < depth {
			break
		}
		if k != startElement {
			continue
		}
		switch string(s.name) {
		case "v":
			stored = true
			r.value, err = s.content(r.value)
		case "is":
			r.value, err = r.richText(s, r.value)
		case "f":
			has = true
			formulaText, err = r.formulaText(s)
		}
		if err != nil {
			return err
		}
	}
	cell, err := r.cell(kind, r.value, f)
	if err != nil {
		return err
	}
	if has {
		// Programs that write workbooks without calculating store nothing, or 0, and ask for a calculation.
		missing := !stored || len(r.value) == 0 && kind != 't' || r.recompute && string(r.value) == "0"
		if missing {
			cell = NotComputed
		}
		r.formulas.add(formula{table: len(r.tables) - 1, row: r.row.Number, column: column, format: f, text: formulaText, missing: missing})
	}
	if cell == "" {
		return nil
	}
	if column >= maxColumns {
		return refuse(asCSV, "sheet %q has more than %d columns, too many for a workbook here", r.table.Name, maxColumns)
	}
	for len(r.cells) <= column {
		r.cells = append(r.cells, "")
	}
	r.cells[column] = cell
	return nil
}

// formulaText reads a formula; cells that share one with a cell before have its text.
func (r *sheetReader) formulaText(s *scanner) (string, error) {
	id := ""
	if s.attr("t") == "shared" {
		id = s.attr("si")
	}
	b, err := s.content(nil)
	if err != nil || len(r.formulas.all) >= maxFormulas {
		return "", err
	}
	if id != "" && len(b) > 0 {
		if r.sharedBy == nil {
			r.sharedBy = map[string]string{}
		}
		r.sharedBy[id] = string(b)
	} else if id != "" {
		return r.sharedBy[id], nil
	}
	return string(b), nil
}

var errShared = errors.New("a cell's text is missing")

// cell turns what a cell stores into text.
func (r *sheetReader) cell(kind byte, value []byte, f *format) (string, error) {
	switch kind {
	case 's':
		n, ok := atoi(value)
		if !ok && len(value) > 0 || n >= len(r.shared) && ok {
			return "", errShared
		} else if !ok {
			return "", nil
		}
		return r.shared[n], nil
	case 'b':
		if len(value) == 0 {
			return "", nil
		}
		return yesNo(string(value) == "1" || string(value) == "true"), nil
	case 'd':
		if text, ok := f.moment(string(value)); ok {
			return r.words.of([]byte(text))
		}
		return r.words.of(value)
	case 0, 'n':
		if len(value) == 0 || f.plain() && wholeNumber(value) {
			return r.words.of(value)
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(string(value)), 64)
		if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
			return "", errors.New("a cell's number is none: " + string(value[:min(len(value), 20)]))
		}
		if r.date1904 && f.date {
			v += shift1904
		}
		return r.words.of([]byte(f.show(v)))
	}
	return r.words.of(unmark(value))
}

// wholeNumber reports whether a number is written as people write it already.
func wholeNumber(b []byte) bool {
	if len(b) > 15 || len(b) > 1 && b[0] == '0' {
		return false
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return false
		}
	}
	return true
}

func atoi(b []byte) (n int, ok bool) {
	if len(b) == 0 || len(b) > 9 {
		return 0, false
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, true
}

// parseCell reads "AB12" into column 27 and row 12.
func parseCell(at []byte) (column, row int, ok bool) {
	n := 0
	for n < len(at) && at[n] >= 'A' && at[n] <= 'Z' {
		column = column*26 + int(at[n]-'A') + 1
		n++
	}
	if n == 0 || n > 3 {
		return 0, 0, false
	}
	row, ok = atoi(at[n:])
	return column - 1, row, ok && row > 0
}

// parseRange reads "A1:C3".
func parseRange(s string) (r Range, ok bool) {
	from, to, found := strings.Cut(strings.ReplaceAll(s, "$", ""), ":")
	if !found {
		to = from
	}
	var ok1, ok2 bool
	r.Left, r.Top, ok1 = parseCell([]byte(from))
	r.Right, r.Bottom, ok2 = parseCell([]byte(to))
	return r, ok1 && ok2 && r.Top <= r.Bottom && r.Left <= r.Right
}

// noteHiddenColumns says which columns with content people don't see.
func (b *book) noteHiddenColumns(t *Table, hidden []Range) {
	filled := map[int]bool{}
	for _, row := range t.Rows {
		for c, cell := range row.Cells {
			if cell != "" {
				filled[c] = true
			}
		}
	}
	var names []string
	for c := range maxColumns {
		for _, h := range hidden {
			if filled[c] && c >= h.Left && c <= h.Right {
				names = append(names, columnName(c))
				break
			}
		}
	}
	if len(names) == 1 {
		b.note("Sheet %q: column %s is hidden; it is read like the others.", t.Name, names[0])
	} else if len(names) > 1 {
		b.note("Sheet %q: columns %s are hidden; they are read like the others.", t.Name, strings.Join(names[:min(len(names), 10)], ", "))
	}
}

// columnName is how programs call a column: A, …, Z, AA.
func columnName(c int) string {
	name := ""
	for c++; c > 0; c = (c - 1) / 26 {
		name = string(rune('A'+(c-1)%26)) + name
	}
	return name
}
