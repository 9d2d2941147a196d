package grid

import (
	"strconv"
	"strings"

	"github.com/xuri/efp"
)

// area is a rectangle of cells that a formula refers to.
type area struct {
	table int
	Range
}

func (a area) cells() int { return (a.Bottom - a.Top + 1) * (a.Right - a.Left + 1) }

// calculated are the functions that are calculated: those that sheets of counts, dates and times have. Left out are
// those whose value changes by itself (TODAY), that refer to what can't be foreseen (INDIRECT), or make long texts.
var calculated = set(`ABS AND AVERAGE AVERAGEA AVERAGEIF CEILING CHOOSE COUNT COUNTA COUNTBLANK COUNTIF COUNTIFS DATE DATEVALUE DAY
 EVEN FLOOR HLOOKUP HOUR IF IFERROR IFNA IFS INDEX INT ISBLANK ISERROR ISNA ISNUMBER ISTEXT LARGE LEFT LEN LOOKUP LOWER
 MATCH MAX MEDIAN MID MIN MINUTE MOD MONTH MROUND N NOT ODD OR PRODUCT PROPER QUOTIENT RIGHT ROUND ROUNDDOWN ROUNDUP SECOND SIGN
 SMALL SUBTOTAL SUM SUMIF SUMIFS SUMPRODUCT SWITCH TEXT TIME TIMEVALUE TRIM TRUNC UPPER VALUE VLOOKUP WEEKDAY YEAR`)

func set(names string) map[string]bool {
	of := map[string]bool{}
	for name := range strings.FieldsSeq(names) {
		of[name] = true
	}
	return of
}

// references lists what a formula refers to, nil if it is not to be calculated.
func (b *book) references(f *formula) []area {
	if f.text == "" || len(f.text) > maxFormula {
		return nil
	}
	areas := []area{}
	cells := 0
	parser := efp.ExcelParser()
	for _, t := range parser.Parse(f.text) {
		switch {
		case t.TType == efp.TokenTypeFunction && t.TSubType == efp.TokenSubTypeStart:
			if !calculated[strings.TrimPrefix(strings.ToUpper(t.TValue), "_XLFN.")] {
				return nil
			}
		case t.TType == efp.TokenTypeOperand && t.TSubType == efp.TokenSubTypeRange:
			a, ok := b.reference(t.TValue, f.table)
			if !ok {
				return nil
			}
			if cells += a.cells(); cells > maxArea {
				return nil
			}
			areas = append(areas, a)
		case t.TSubType == efp.TokenSubTypeConcatenation, t.TSubType == efp.TokenSubTypeIntersection, t.TSubType == efp.TokenSubTypeUnion,
			t.TType == efp.TokenTypeUnknown:
			return nil
		}
	}
	return areas
}

// reference reads a reference such as A1, 'May fish'!$B$2:C9 or E:E, which ends where its sheet does.
func (b *book) reference(ref string, table int) (a area, ok bool) {
	if sheet, within, found := strings.Cut(ref, "!"); found {
		sheet = strings.ReplaceAll(strings.TrimSuffix(strings.TrimPrefix(sheet, "'"), "'"), "''", "'")
		if table = b.tableNamed(sheet); table < 0 {
			return a, false
		}
		ref = within
	}
	ref = strings.ToUpper(strings.ReplaceAll(ref, "$", ""))
	if from, to, found := strings.Cut(ref, ":"); found && letters(from) && letters(to) {
		last := 1
		if rows := b.tables[table].Rows; len(rows) > 0 {
			last = rows[len(rows)-1].Number
		}
		ref = from + "1:" + to + strconv.Itoa(last)
	}
	r, ok := parseRange(ref)
	return area{table, r}, ok
}

func (b *book) tableNamed(name string) int {
	for i, t := range b.tables {
		if strings.EqualFold(t.Name, name) {
			return i
		}
	}
	return -1
}

func letters(s string) bool {
	return s != "" && len(s) <= 3 && strings.Trim(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
}
