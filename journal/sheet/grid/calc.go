package grid

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// NotComputed is the text of a cell whose formula has no value: its program did not calculate, and neither could we.
const NotComputed = "#NOT COMPUTED"

// Limits of calculating, which is done only where values are missing. excelize takes whole sheets into
// memory, some hundred bytes a cell, and can't be stopped within a formula.
const (
	maxCalcBytes  = 24 << 20 // of the parts, unzipped
	maxCalcCells  = 150_000
	maxFormulas   = 20_000
	maxFormula    = 2_000            // letters
	maxArea       = 100_000          // cells that one formula refers to
	maxAreas      = 5_000_000        // cells that all of them refer to
	maxCalcTime   = 20 * time.Second // then what is left stays without a value
	maxCalcLetter = 32_767           // of a cell's text
)

// formula is a cell with a formula.
type formula struct {
	table, row, column int
	format             *format
	text               string
	missing            bool   // it has no value, or none to be relied on
	refs               []area // what it refers to, nil where it is not calculated
	state              state
}

// state is how far the calculation of a formula has come.
type state int

const (
	waiting state = iota
	busy
	computed
	failed
)

func (f *formula) cell() string { return columnName(f.column) + strconv.Itoa(f.row) }

// formulas are those of a workbook in its order, as many as may be calculated.
type formulas struct {
	all     []formula
	missing int
	many    bool
}

func (fs *formulas) add(f formula) {
	if f.missing {
		fs.missing++
	}
	if len(fs.all) >= maxFormulas {
		fs.many = true
		return
	}
	fs.all = append(fs.all, f)
}

// calculate gives formulas without a value one, where that can be done.
func (b *book) calculate(r io.ReaderAt, size int64) error {
	if b.formulas.missing == 0 {
		return nil
	}
	done := 0
	var left []string
	c, err := b.calculator(r, size)
	if err == nil {
		defer func() { _ = c.sheets.Close() }()
		for i := range b.formulas.all {
			f := &b.formulas.all[i]
			if !f.missing {
				continue
			}
			c.visit(f)
			if err := b.ctx.Err(); err != nil {
				return err
			}
			if f.state == computed {
				done++
			} else if len(left) < 3 {
				left = append(left, fmt.Sprintf("%s of sheet %q", f.cell(), b.tables[f.table].Name))
			}
		}
	}
	if done > 0 {
		b.note("%s no value stored in the workbook and %s computed.", count(done, "formula has", "formulas have"), map[bool]string{true: "was", false: "were"}[done == 1])
	}
	b.noteLeft(b.formulas.missing-done, left...)
	return nil
}

// noteLeft says how many formulas have no value, with a few of them.
func (b *book) noteLeft(n int, few ...string) {
	if n == 0 {
		return
	}
	which := ""
	if len(few) > 0 {
		which = ": " + strings.Join(few, ", ")
		if n > len(few) {
			which += ", …"
		}
	}
	b.note("%s no value stored in the workbook, and could not be computed%s. Open the workbook in your spreadsheet program and save it, so that values are stored.",
		count(n, "formula has", "formulas have"), which)
}

func count(n int, one, several string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, several)
}

var errNotCalculable = errors.New("not to be calculated")

// calculator calculates formulas, each after those that it refers to, so that an error is never taken for a value.
type calculator struct {
	ctx    context.Context
	book   *book
	sheets *excelize.File
	missed [][]*formula // formulas without a value, sheet by sheet, in the order of rows
	until  time.Time
}

// calculator opens the workbook for its formulas without values; the others stand with theirs.
func (b *book) calculator(r io.ReaderAt, size int64) (c *calculator, err error) {
	defer func() { // excelize was not made for damaged files
		if recover() != nil {
			c, err = nil, errNotCalculable
		}
	}()
	var bytes uint64
	for _, p := range b.parts {
		bytes += p.UncompressedSize64
	}
	// excelize's functions of dates know the 1900 system alone.
	if b.date1904 || b.formulas.many || bytes > maxCalcBytes || b.laidOut() > maxCalcCells {
		return nil, errNotCalculable
	}
	c = &calculator{ctx: b.ctx, book: b, missed: make([][]*formula, len(b.tables)), until: time.Now().Add(maxCalcTime)}
	cells := 0
	for i := range b.formulas.all {
		f := &b.formulas.all[i]
		if !f.missing {
			continue
		}
		c.missed[f.table] = append(c.missed[f.table], f)
		f.refs = b.references(f)
		for _, a := range f.refs {
			cells += a.cells()
		}
	}
	if cells > maxAreas {
		return nil, errNotCalculable
	}
	c.sheets, err = excelize.OpenReader(io.NewSectionReader(r, 0, size), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: maxCalcBytes, UnzipXMLSizeLimit: maxCalcBytes})
	if err != nil {
		return nil, err
	}
	for _, f := range b.formulas.all {
		if !f.missing {
			if err := c.sheets.SetCellFormula(b.tables[f.table].Name, f.cell(), ""); err != nil {
				return nil, err
			}
		}
	}
	return c, nil
}

// laidOut counts the cells that excelize makes of the sheets, which are the blank ones before others, too.
func (b *book) laidOut() int {
	n := 0
	for _, t := range b.tables {
		if len(t.Rows) > 0 {
			n += t.Rows[len(t.Rows)-1].Number
		}
		for _, r := range t.Rows {
			n += len(r.Cells)
		}
	}
	return n
}

// visit calculates a formula after those that it refers to.
func (c *calculator) visit(f *formula) {
	f.state = busy
	ok := f.refs != nil
	for _, a := range f.refs {
		missed := c.missed[a.table]
		first := sort.Search(len(missed), func(i int) bool { return missed[i].row >= a.Top })
		for _, p := range missed[first:] {
			if p.row > a.Bottom {
				break
			}
			if p.column < a.Left || p.column > a.Right {
				continue
			}
			if p.state == waiting {
				c.visit(p)
			}
			ok = ok && p.state == computed // and not busy, when it refers back to itself
		}
	}
	f.state = failed
	if !ok || c.ctx.Err() != nil || time.Now().After(c.until) {
		return
	}
	if text, ok := c.value(f); ok {
		rows := c.book.tables[f.table].Rows
		i := sort.Search(len(rows), func(i int) bool { return rows[i].Number >= f.row })
		rows[i].Cells[f.column] = text
		f.state = computed
	}
}

// value calculates one formula.
func (c *calculator) value(f *formula) (text string, ok bool) {
	defer func() {
		if recover() != nil {
			text, ok = "", false
		}
	}()
	v, err := c.sheets.CalcCellValue(c.book.tables[f.table].Name, f.cell(), excelize.Options{RawCellValue: true})
	switch {
	case v == "#DIV/0!":
		return v, true
	case err != nil, strings.HasPrefix(v, "#"), len(v) > maxCalcLetter:
		return "", false
	case v == "TRUE" || v == "FALSE":
		return yesNo(v == "TRUE"), true
	}
	n, err := strconv.ParseFloat(v, 64)
	if err != nil || math.IsInf(n, 0) || math.IsNaN(n) {
		return v, true
	}
	return f.format.show(n), true
}
