package grid

import (
	"errors"
	"fmt"
	"io"
	"math"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/efp"
	"github.com/xuri/excelize/v2"
)

// NotComputed is the text of a cell whose formula has no value: its program did not calculate, and neither could we.
const NotComputed = "#NOT COMPUTED"

// Limits of calculating, which is done only where values are missing. excelize takes whole sheets into
// memory, a few hundred bytes a cell, and can't be stopped within a formula.
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
	missing            bool // it has no value, or none to be relied on
	safe               bool // it may be calculated
}

func (f *formula) cell() string { return columnName(f.column) + strconv.Itoa(f.row) }

// formulas are those of a workbook, as many as may be calculated.
type formulas struct {
	all     []formula
	missing int
	many    bool
}

func (fs *formulas) add(f formula) {
	if f.missing {
		fs.missing++
	}
	if fs.many = len(fs.all) >= maxFormulas; !fs.many {
		fs.all = append(fs.all, f)
	}
}

// calculate gives formulas without a value one, where that can be done.
func (b *book) calculate(r io.ReaderAt, size int64) error {
	if b.formulas.missing == 0 {
		return nil
	}
	sheets, err := b.calculable(r, size)
	if err == nil {
		defer func() { _ = sheets.Close() }()
	}
	end := time.Now().Add(maxCalcTime)
	done := 0
	var left []string
	for i := range b.formulas.all {
		f := &b.formulas.all[i]
		if !f.missing {
			continue
		}
		if err := b.ctx.Err(); err != nil {
			return err
		}
		text := NotComputed
		if sheets != nil && time.Now().Before(end) {
			text = b.value(sheets, f)
		}
		if text == NotComputed {
			left = append(left, fmt.Sprintf("%s of sheet %q", f.cell(), b.tables[f.table].Name))
			continue
		}
		b.set(f, text)
		done++
	}
	if done > 0 {
		b.note("%d formulas had no value stored in the workbook; they were computed.", done)
	}
	if n := b.formulas.missing - done; n > 0 {
		few := left[:min(len(left), 3)]
		b.note("%d formulas have no value stored in the workbook and could not be computed, such as %s; open the workbook in your spreadsheet program and save it.",
			n, strings.Join(few, ", "))
	}
	return nil
}

var errNotCalculable = errors.New("too large to calculate")

// calculable opens the workbook for its formulas without values; the others stand with theirs.
func (b *book) calculable(r io.ReaderAt, size int64) (sheets *excelize.File, err error) {
	defer func() { // excelize was not made for damaged files
		if recover() != nil {
			sheets, err = nil, errNotCalculable
		}
	}()
	var bytes uint64
	for _, p := range b.parts {
		bytes += p.UncompressedSize64
	}
	if b.formulas.many || bytes > maxCalcBytes || b.laidOut() > maxCalcCells {
		return nil, errNotCalculable
	}
	areas := 0
	for i := range b.formulas.all {
		if f := &b.formulas.all[i]; f.missing {
			var area int
			area, f.safe = b.area(f.text)
			areas += area
		}
	}
	if areas > maxAreas {
		return nil, errNotCalculable
	}
	sheets, err = excelize.OpenReader(io.NewSectionReader(r, 0, size), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: maxCalcBytes, UnzipXMLSizeLimit: maxCalcBytes})
	if err != nil {
		return nil, err
	}
	for i := range b.formulas.all {
		f := &b.formulas.all[i]
		if f.safe {
			continue
		}
		instead := ""
		if f.missing {
			instead = "NA()" // makes whatever refers to it an error, never a wrong sum
		}
		if err := sheets.SetCellFormula(b.tables[f.table].Name, f.cell(), instead); err != nil {
			return nil, err
		}
	}
	return sheets, nil
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

// value calculates a formula, NotComputed if that can't be done.
func (b *book) value(sheets *excelize.File, f *formula) (text string) {
	defer func() {
		if recover() != nil {
			text = NotComputed
		}
	}()
	if !f.safe {
		return NotComputed
	}
	v, err := sheets.CalcCellValue(b.tables[f.table].Name, f.cell(), excelize.Options{RawCellValue: true})
	switch {
	case v == "#DIV/0!":
		return v
	case err != nil, strings.HasPrefix(v, "#"), len(v) > maxCalcLetter:
		return NotComputed
	case v == "TRUE" || v == "FALSE":
		return yesNo(v == "TRUE")
	}
	n, err := strconv.ParseFloat(v, 64)
	if err != nil || math.IsInf(n, 0) || math.IsNaN(n) {
		return v
	}
	if b.date1904 && f.format.date {
		n += shift1904
	}
	return f.format.show(n)
}

// set writes what a formula gives into its table.
func (b *book) set(f *formula, text string) {
	rows := b.tables[f.table].Rows
	i := sort.Search(len(rows), func(i int) bool { return rows[i].Number >= f.row })
	rows[i].Cells[f.column] = text
}

// calculated are the functions that are calculated: those that sheets of counts, dates and times have. Left out are
// those whose value changes by itself (TODAY), that refer to what can't be foreseen (INDIRECT), or make long texts.
var calculated = set(`ABS AND AVERAGE AVERAGEA AVERAGEIF CEILING CHOOSE COUNT COUNTA COUNTBLANK COUNTIF COUNTIFS DATE DATEVALUE DAY
 EVEN FLOOR HLOOKUP HOUR IF IFERROR IFNA IFS INDEX INT ISBLANK ISERROR ISNA ISNUMBER ISTEXT LARGE LEFT LEN LOOKUP LOWER
 MATCH MAX MEDIAN MID MIN MINUTE MOD MONTH MROUND N NOT ODD OR PRODUCT PROPER QUOTIENT RIGHT ROUND ROUNDDOWN ROUNDUP SECOND SIGN
 SMALL SUBTOTAL SUM SUMIF SUMIFS SUMPRODUCT SWITCH TEXT TIME TIMEVALUE TRIM TRUNC UPPER VALUE VLOOKUP WEEKDAY YEAR`)

func set(names string) map[string]bool {
	of := map[string]bool{}
	for _, name := range strings.Fields(names) {
		of[name] = true
	}
	return of
}

// area counts the cells that a formula refers to, and reports whether it can be calculated.
func (b *book) area(text string) (cells int, ok bool) {
	if text == "" || len(text) > maxFormula {
		return 0, false
	}
	parser := efp.ExcelParser()
	for _, t := range parser.Parse(text) {
		switch {
		case t.TType == efp.TokenTypeFunction && t.TSubType == efp.TokenSubTypeStart:
			name := strings.TrimPrefix(strings.ToUpper(t.TValue), "_XLFN.")
			if !calculated[name] {
				return 0, false
			}
		case t.TType == efp.TokenTypeOperand && t.TSubType == efp.TokenSubTypeRange:
			n, ok := b.rangeArea(t.TValue)
			if cells += n; !ok || cells > maxArea {
				return 0, false
			}
		case t.TSubType == efp.TokenSubTypeConcatenation, t.TSubType == efp.TokenSubTypeIntersection, t.TSubType == efp.TokenSubTypeUnion,
			t.TType == efp.TokenTypeUnknown:
			return 0, false
		}
	}
	return cells, true
}

// rangeArea counts the cells of a reference such as A1, April!$B$2:C9 or E:E, which ends where the sheet does.
func (b *book) rangeArea(ref string) (cells int, ok bool) {
	if sheet, within, found := strings.Cut(ref, "!"); found {
		if strings.ContainsAny(sheet, "[]:") || strings.Contains(within, "!") {
			return 0, false
		}
		ref = within
	}
	ref = strings.ToUpper(strings.ReplaceAll(ref, "$", ""))
	if from, to, found := strings.Cut(ref, ":"); found && letters(from) && letters(to) {
		rows := 1
		for _, t := range b.tables {
			if len(t.Rows) > 0 {
				rows = max(rows, t.Rows[len(t.Rows)-1].Number)
			}
		}
		r, ok := parseRange(from + "1:" + to + strconv.Itoa(rows))
		return (r.Right - r.Left + 1) * rows, ok
	}
	r, ok := parseRange(ref)
	return (r.Bottom - r.Top + 1) * (r.Right - r.Left + 1), ok
}

func letters(s string) bool {
	return s != "" && len(s) <= 3 && strings.Trim(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
}
