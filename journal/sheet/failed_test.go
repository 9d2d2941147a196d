package sheet_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"rigtally/journal/sheet"
)

// TestFormulasThatFailAreNoNames takes no name, word or number from a formula that fails or has no value.
func TestFormulasThatFailAreNoNames(t *testing.T) {
	f := excelize.NewFile()
	for at, row := range [][]any{
		{"Date", "Angler", "Water", "Minutes", "Knot", "Tangles"},
		{"2026-04-02", "#REF!", "Tessel", 60, "blood", 1},
		{"2026-04-03", "Orrin", "#N/A", 60, "blood", 1},
		{"2026-04-04", "Orrin", "Tessel", 60, "blood", nil},
		{"2026-04-05", nil, "Tessel", 60, "blood", 0},
	} {
		cell, err := excelize.CoordinatesToCellName(1, at+1)
		if err == nil {
			err = f.SetSheetRow("Sheet1", cell, &row)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, cell := range []string{"F4", "B5"} {
		if err := f.SetCellFormula("Sheet1", cell, "TODAY()"); err != nil {
			t.Fatal(err)
		}
	}
	var file bytes.Buffer
	if err := f.Write(&file); err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Read(t.Context(), &file, "book.xlsx", sheet.Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"Sheet1, row 2, Angler: “#REF!” is a formula that fails; correct the formula, or write what it should give",
		"Sheet1, row 3, Water: “#N/A” is missing; write which water was fished",
		"Sheet1, row 4, Tangles: “#NOT COMPUTED” is a formula whose value the workbook does not hold; open the workbook in your spreadsheet program and save it",
		"Sheet1, row 5, Angler: “#NOT COMPUTED” is a formula whose value the workbook does not hold; open the workbook in your spreadsheet program and save it",
	}
	var got []string
	for _, b := range s.Bad {
		got = append(got, b.String())
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") || s.Stints != 0 {
		t.Errorf("%d stints and\n%s\nwant\n%s", s.Stints, strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
