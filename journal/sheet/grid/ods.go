package grid

import (
	"errors"
	"fmt"
	"strconv"
)

// errPlace says that an element stands where none of its kind can.
var errPlace = errors.New("rows or cells are out of place")

// ods reads a spreadsheet after OASIS OpenDocument 1.3, part 3, chapter 9.
type ods struct {
	*book
	styles  map[string]*odsStyle // by family and name
	formats map[string]format    // of data styles
	number  int                  // of formulas without a value

	table    *Table
	hidden   []Range // columns
	columns  []columnStyle
	folded   int // depth of row groups that are folded away, from the outermost
	row      int // number of the last row
	cells    []string
	uncalced string // the first cell whose formula has no value
}

// columnStyle is the style of the cells of some columns that have none of their own.
type columnStyle struct {
	until int // column after the last
	style string
}

// readODS reads the sheets of an .ods, visible or not.
func (b *book) readODS() error {
	if locked, err := b.locked(); err != nil {
		return err
	} else if locked {
		return errEncrypted
	}
	o := &ods{book: b, styles: map[string]*odsStyle{}, formats: map[string]format{}}
	if err := b.scan("styles.xml", o.readStyles); err != nil {
		return err
	}
	return b.scan("content.xml", o.readContent)
}

// locked reports whether the parts are encrypted (OpenDocument 1.3, part 2, <manifest:encryption-data>).
func (b *book) locked() (yes bool, err error) {
	err = b.scan("META-INF/manifest.xml", func(s *scanner) error {
		return s.each(func(element string) error {
			yes = yes || element == "encryption-data"
			return nil
		})
	})
	return yes, err
}

func (o *ods) readContent(s *scanner) error {
	return s.each(func(element string) error {
		switch element {
		case "automatic-styles":
			return o.readStylesWithin(s)
		case "table": // those within cells are met in readTable
			return o.readTable(s)
		case "tracked-changes", "scripts":
			return s.passOver()
		}
		return nil
	})
}

func (o *ods) readTable(s *scanner) error {
	style := o.styles["table "+s.attr("style-name")]
	table, err := o.addTable(s.attr("name"), style != nil && style.hidden)
	if err != nil {
		return err
	}
	o.table, o.hidden, o.columns, o.row, o.folded, o.uncalced, o.number = table, nil, nil, 0, 0, "", 0
	columns := 0
	for depth := s.depth; ; {
		k, err := s.next()
		if err != nil {
			return err
		}
		if k == endElement {
			if s.depth < o.folded {
				o.folded = 0
			}
			if s.depth < depth {
				break
			}
		}
		if k != startElement {
			continue
		}
		switch string(s.name) {
		case "table-row-group":
			if s.attr("display") == "false" && o.folded == 0 {
				o.folded = s.depth
			}
		case "table-column":
			n, err := repeated(s, "number-columns-repeated")
			if err != nil {
				return err
			}
			if v := s.attr("visibility"); v == "collapse" || v == "filter" {
				o.hidden = append(o.hidden, Range{Left: columns, Right: columns + n - 1})
			}
			if columns += n; len(o.columns) < maxColumns {
				o.columns = append(o.columns, columnStyle{columns, s.attr("default-cell-style-name")})
			}
		case "table-row":
			if err := o.readRow(s); err != nil {
				return err
			}
		case "table-header-rows", "table-rows", "table-columns", "table-header-columns", "table-column-group":
		default: // drawings, forms, filters, sources
			if err := s.passOver(); err != nil {
				return err
			}
		}
	}
	if o.number > 0 {
		o.noteLeft(o.number, fmt.Sprintf("%s of sheet %q", o.uncalced, table.Name))
	}
	o.noteHiddenColumns(table, o.hidden)
	return nil
}

// repeated reads how often a row, column or cell stands there one after the other.
func repeated(s *scanner, name string) (int, error) {
	at := s.attrBytes(name)
	if len(at) == 0 {
		return 1, nil
	}
	n, ok := atoi(at)
	if !ok || n < 1 || n > lastRow {
		return 0, errPlace
	}
	return n, nil
}

func (o *ods) readRow(s *scanner) error {
	times, err := repeated(s, "number-rows-repeated")
	if err != nil {
		return err
	}
	visibility := s.attr("visibility")
	row := Row{Number: o.row + 1, Hidden: visibility == "collapse" || visibility == "filter" || o.folded > 0}
	if o.row += times; o.row > lastRow {
		return errPlace
	}
	o.cells = o.cells[:0]
	column := 0
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
		covered := string(s.name) == "covered-table-cell"
		if !covered && string(s.name) != "table-cell" {
			return errPlace
		}
		n, err := repeated(s, "number-columns-repeated")
		if err != nil {
			return err
		}
		if err := o.span(s, row.Number, column); err != nil {
			return err
		}
		cell, err := o.readCell(s, row.Number, column)
		if err != nil {
			return err
		}
		if cell != "" && !covered {
			if column+n > maxColumns {
				return refuse(asCSV, "sheet %q has more than %d columns, too many for a workbook here", o.table.Name, maxColumns)
			}
			for len(o.cells) < column {
				o.cells = append(o.cells, "")
			}
			for range n {
				o.cells = append(o.cells, cell)
			}
		}
		if column += n; column > lastRow {
			return errPlace
		}
	}
	if len(o.cells) == 0 { // blank rows are repeated up to the end of the sheet
		return nil
	}
	for i := range times {
		if err := o.addRow(o.table, row.Number+i, row.Hidden, o.cells); err != nil {
			return err
		}
	}
	return nil
}

// span notes a merged cell.
func (o *ods) span(s *scanner, row, column int) error {
	wide, err := repeated(s, "number-columns-spanned")
	if err != nil {
		return err
	}
	high, err := repeated(s, "number-rows-spanned")
	if err != nil {
		return err
	}
	if wide > 1 || high > 1 {
		if len(o.table.Merged) >= maxMerged {
			return errPlace
		}
		o.table.Merged = append(o.table.Merged, Range{row, column, row + high - 1, column + wide - 1})
	}
	return nil
}

// styleOf returns the style of a cell: its own, or that of its column.
func (o *ods) styleOf(own string, column int) string {
	if own != "" {
		return own
	}
	for _, c := range o.columns {
		if column < c.until {
			return c.style
		}
	}
	return ""
}

// noteFormula counts a formula without a value.
func (o *ods) noteFormula(row, column int) {
	if o.number++; o.number == 1 {
		o.uncalced = columnName(column) + strconv.Itoa(row)
	}
}
