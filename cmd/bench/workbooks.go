package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// workbookColumns are those of the flat file that the workbook has, as many as a full book of a season.
var workbookColumns = strings.Fields(`date angler water stint minutes position hang junction tag_length_mm fly
 hookups landed lost snags tangles twists checks turns session notes`)

// workbooks times the import of a spreadsheet as a workbook, read, understood, checked and stored, against
// that of the same spreadsheet as CSV.
func (b *bench) workbooks(ctx context.Context) error {
	flat, _, err := b.spreadsheet(ctx)
	if err != nil {
		return err
	}
	rows, err := csv.NewReader(bytes.NewReader(flat)).ReadAll()
	if err != nil {
		return err
	}
	files, err := bothKinds(rows)
	if err != nil {
		return err
	}
	var took [2]timed
	for i := range importRounds {
		for n, file := range files {
			store, err := b.open(ctx, fmt.Sprintf("workbook_%d_%d", i, n))
			if err != nil {
				return err
			}
			d, err := clock(func() error { return importSheet(ctx, store, file) })
			store.Close()
			if err != nil {
				return err
			}
			took[n] = append(took[n], d)
		}
	}
	compare(fmt.Sprintf("import of a workbook (.xlsx) of %d rows and %d columns, every row checked", len(rows)-1, len(workbookColumns)),
		took[1], "import of the same rows as CSV", took[0])
	fmt.Printf("  target    less than 3 times as long: %s\n", metOrMissed(took[1].median() < 3*took[0].median()))
	return nil
}

// bothKinds writes rows as CSV and as a workbook, numbers and dates as such.
func bothKinds(rows [][]string) (files [2][]byte, err error) {
	var text, book bytes.Buffer
	out := csv.NewWriter(&text)
	f := excelize.NewFile()
	defer f.Close()
	in, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		return files, err
	}
	var from []int
	for _, name := range workbookColumns {
		from = append(from, slices.Index(rows[0], name))
	}
	for i, row := range rows {
		line, cells := make([]string, len(from)), make([]any, len(from))
		for n, at := range from {
			line[n], cells[n] = row[at], row[at]
			if v, err := strconv.ParseFloat(row[at], 64); err == nil {
				cells[n] = v
			} else if row[at] == "" {
				cells[n] = nil
			}
		}
		if err := out.Write(line); err != nil {
			return files, err
		}
		if err := in.SetRow("A"+strconv.Itoa(i+1), cells); err != nil {
			return files, err
		}
	}
	out.Flush()
	if err := in.Flush(); err != nil {
		return files, err
	}
	err = f.Write(&book)
	return [2][]byte{text.Bytes(), book.Bytes()}, err
}
