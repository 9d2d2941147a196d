// Package grid reads workbooks, .xlsx and .ods, into tables of text, as their spreadsheet program shows
// them where that says more than what is stored: dates, times of day and spells of time. What makes a
// workbook too large, damaged or of another kind is refused with what to do; see limits.go.
package grid

import (
	"bytes"
	"context"
	"errors"
	"io"
	"sort"
)

// Table is one sheet of a workbook.
type Table struct {
	Name   string
	Hidden bool  // from people who open the workbook
	Rows   []Row // in order; rows without content are absent
	Merged []Range
}

// Row is a row of a sheet, with its number as the program shows it, from 1.
type Row struct {
	Number int
	Cells  []string // up to the last that is not blank
	Hidden bool     // or filtered out
}

// Range is a rectangle of cells, rows by their Number, columns from 0, both ends inclusive.
type Range struct{ Top, Left, Bottom, Right int }

// IsWorkbook reports whether a file that begins so is for Read: a workbook, or something else that is no
// plain text, which Read refuses by what it is. A few hundred bytes are enough.
func IsWorkbook(head []byte) bool { return known(head) != "" }

// Read reads all sheets of a workbook, hidden ones too. Notes are sentences for people about what they
// can't see in the tables. A *Refusal says why the file is not read, and what to do.
//
// Cells: dates 2025-04-30, moments 2025-04-30 06:30, times of day 06:30, spells of time 1:30; seconds only
// where they are shown. Numbers have a decimal point, no grouping, and never exactly three decimals: one zero
// more then. Percentages and units of a cell's format stay: 25%, 12.5 cm. Booleans are yes and no, errors as
// shown (#DIV/0!), a formula without a value [NotComputed]. A merged cell's text stands in its top left cell.
func Read(ctx context.Context, r io.ReaderAt, size int64) (tables []Table, notes []string, err error) {
	head := make([]byte, min(size, 512))
	if _, err := r.ReadAt(head, 0); err != nil && err != io.EOF {
		return nil, nil, err
	}
	if size > MaxFile {
		return nil, nil, refuse("take pictures out of it, or "+asCSV, "the file is larger than %d MB, too large for a workbook here", MaxFile>>20)
	}
	if kind := known(head); kind != zipFile {
		return nil, nil, other(kind, r, size)
	}
	a, err := openArchive(ctx, r, size)
	if err != nil {
		return nil, nil, err
	}
	m := &meter{}
	b := &book{archive: a, meter: m, words: &words{kept: map[string]string{}, meter: m}}
	switch {
	case a.has("content.xml") && a.openDocument():
		err = b.readODS()
	case a.has("xl/workbook.xml") || a.workbookPart() != "":
		err = b.readXLSX()
		if err == nil {
			err = b.calculate(r, size)
		}
	default:
		return nil, nil, a.otherArchive()
	}
	if err != nil {
		return nil, nil, err
	}
	for i := range b.tables {
		if err := b.tables[i].blankCovered(); err != nil {
			return nil, nil, err
		}
	}
	if len(b.tables) == 0 {
		return nil, nil, refuse("open it in your spreadsheet program, save it again, or "+asCSV, "the workbook has no sheets")
	}
	return b.tables, b.notes, nil
}

// book is a workbook while it is read.
type book struct {
	*archive
	*meter
	words  *words
	tables []Table
	notes  []string

	slab     []string // what the cells of rows are cut from
	formulas formulas
	date1904 bool
}

var errTooManySheets = refuse("save the sheets that you want in a workbook of their own", "the workbook has more than %d sheets", maxSheets)

// addTable begins a sheet.
func (b *book) addTable(name string, hidden bool) (*Table, error) {
	if len(b.tables) >= maxSheets {
		return nil, errTooManySheets
	}
	b.tables = append(b.tables, Table{Name: name, Hidden: hidden})
	return &b.tables[len(b.tables)-1], nil
}

// addRow adds a row's cells, unless all are blank.
func (b *book) addRow(t *Table, number int, hidden bool, cells []string) error {
	n := len(cells)
	for n > 0 && cells[n-1] == "" {
		n--
	}
	if n == 0 {
		return nil
	}
	if n > maxColumns {
		return refuse(asCSV, "sheet %q has more than %d columns, too many for a workbook here", t.Name, maxColumns)
	}
	if err := b.addCells(n + 3); err != nil { // a row takes as much as three cells beside
		return err
	}
	if len(b.slab) < n {
		b.slab = make([]string, 4*maxColumns)
	}
	row := b.slab[:n:n]
	b.slab = b.slab[n:]
	copy(row, cells)
	t.Rows = append(t.Rows, Row{Number: number, Cells: row, Hidden: hidden})
	return nil
}

var errOverlap = errors.New("merged cells overlap")

// blankCovered takes out what stands under merged cells: nobody sees it.
func (t *Table) blankCovered() error {
	looked := 0
	for _, m := range t.Merged {
		first := sort.Search(len(t.Rows), func(i int) bool { return t.Rows[i].Number >= m.Top })
		for _, row := range t.Rows[first:] {
			if row.Number > m.Bottom {
				break
			}
			for c := m.Left; c <= m.Right && c < len(row.Cells); c++ {
				if row.Number > m.Top || c > m.Left {
					row.Cells[c] = ""
				}
				looked++
			}
			if looked++; looked > 2*maxCells {
				return damaged("sheet "+t.Name, errOverlap)
			}
		}
	}
	return nil
}

// known says what a file is by how it begins.
func known(head []byte) string {
	trimmed := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \r\n\t")
	lower := bytes.ToLower(trimmed)
	begins := func(with string) bool { return bytes.HasPrefix(lower, []byte(with)) }
	switch {
	case bytes.HasPrefix(head, []byte("PK\x03\x04")), bytes.HasPrefix(head, []byte("PK\x05\x06")):
		return zipFile
	case bytes.HasPrefix(head, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
		return oleFile
	case bytes.HasPrefix(head, []byte("%PDF-")):
		return "a PDF"
	case begins("{") && (bytes.Contains(lower, []byte("docs.google.com")) || bytes.Contains(lower, []byte(`"doc_id"`))):
		return shortcut
	case begins("<!doctype html"), begins("<html"), begins("<table"):
		return "a web page"
	case begins("<?xml"), begins("<workbook"), begins("<office:document"):
		return xmlFile
	}
	return ""
}
