package sheet_test

import (
	"strings"
	"testing"

	"rigtally/journal/sheet"
)

// Ensure that a sheet whose column of days is not understood shows its columns all the same, takes no row, and reads once
// somebody has said which column has the day.
func TestColumnsAreShownWithoutADay(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ text, day, who, where string }{
		"no word is known":       {"Foo,Bar,Baz,Qux\n2026-05-03,Kalle,Langen,90\n2026-05-04,Kalle,Langen,60\n", "Foo", "Bar", "Baz"},
		"all but the day":        {"Foo,Angler,Water,Minutes\n2026-05-03,Kalle,Langen,90\n", "Foo", "", ""},
		"a title above":          {"Our book\n\nFoo;Bar;Baz;Qux\n2026-05-03;Kalle;Langen;90\n", "Foo", "Bar", "Baz"},
		"semicolons and a comma": {"Foo;Bar;Baz;Qux, in all\n2026-05-03;Kalle;Langen;90\n", "Foo", "Bar", "Baz"},
	} {
		s, err := sheet.Read(t.Context(), strings.NewReader(c.text), "book.csv", sheet.Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(s.Columns) != 4 || s.Columns[0].Header != "Foo" || len(s.Columns[0].Samples) == 0 || s.Columns[0].Samples[0] != "2026-05-03" {
			t.Errorf("%s: columns %+v", name, s.Columns)
		}
		if len(s.Stops) == 0 || s.Stops[0].Header != "" || s.Stops[0].Likely[0] != "date" || s.Sessions > 0 {
			t.Errorf("%s: stops %+v, %d sessions", name, s.Stops, s.Sessions)
		}
		opt := sheet.Options{Columns: []sheet.ColumnRule{{Header: c.day, Key: "date"}}}
		for key, header := range map[string]string{"angler": c.who, "water": c.where, "minutes": "Qux"} {
			if header == "Qux" && strings.Contains(c.text, "in all") {
				header = "Qux, in all"
			}
			if header != "" && strings.Contains(c.text, header) {
				opt.Columns = append(opt.Columns, sheet.ColumnRule{Header: header, Key: key})
			}
		}
		if s, err := sheet.Read(t.Context(), strings.NewReader(c.text), "book.csv", opt); err != nil || len(s.Stops) > 0 || s.Sessions == 0 {
			t.Errorf("%s, told which: %v, %+v", name, err, s)
		}
	}
	for _, text := range []string{"a,b\n1,2\n", "3,4,5\n6,7,8\n", "nothing but a line\n", "one,two,three\n"} {
		if s, err := sheet.Read(t.Context(), strings.NewReader(text), "book.csv", sheet.Options{}); err == nil {
			t.Errorf("%q has the columns %+v", text, s.Columns)
		}
	}
}
