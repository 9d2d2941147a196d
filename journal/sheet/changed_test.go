package sheet_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rigtally/journal/sheet"
)

// What is done to a sheet of the corpus.
const (
	cutRow = iota
	cutColumn
	swapColumns
	swapWords
	misspellHeader
	misspellName
	blankCell
	changes
)

// changed is a sheet of the corpus after something was done to it.
type changed struct {
	entry
	rows   [][]string
	comma  rune
	header int // of the rows

	what   int
	column string // header of the column that was cut or whose header was changed
	row    int    // number of the row that was cut
	done   string // in words
}

// take reads the text of an entry, and finds the row that names the columns: the one with the most of them.
func take(e entry) (changed, bool) {
	c := changed{entry: e}
	if e.table == nil || e.refused != "" || e.asked != "" || bytes.HasPrefix(e.table, []byte("sep=")) {
		return c, false
	}
	for _, comma := range ",;\t|" {
		r := csv.NewReader(bytes.NewReader(e.table))
		r.Comma, r.LazyQuotes, r.FieldsPerRecord = comma, true, -1
		rows, err := r.ReadAll()
		if err != nil {
			continue
		}
		for i, row := range rows {
			if c.rows == nil || filled(row) > filled(c.rows[c.header]) && i < 4 {
				c.rows, c.comma, c.header = rows, comma, i
			}
		}
	}
	return c, len(c.rows) > c.header+2
}

func filled(row []string) (n int) {
	for _, cell := range row {
		if cell != "" {
			n++
		}
	}
	return n
}

func (c *changed) text() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Comma = c.comma
	_ = w.WriteAll(c.rows) // a buffer takes everything
	return b.Bytes()
}

// change does something to the sheet, and reports whether it could.
func (c *changed) change(what, a, b int) bool {
	c.what, c.rows = what, slices.Clone(c.rows)
	for i := range c.rows {
		c.rows[i] = slices.Clone(c.rows[i])
	}
	header := c.rows[c.header]
	row, column := c.header+1+a%(len(c.rows)-c.header-1), b%len(header)
	c.column = header[column]
	switch what {
	case cutRow:
		c.row, c.done = row+1, fmt.Sprintf("row %d cut", row+1)
		c.rows = slices.Delete(c.rows, row, row+1)
	case cutColumn:
		c.done = "column " + c.column + " cut"
		for i, cells := range c.rows {
			if column < len(cells) {
				c.rows[i] = slices.Delete(cells, column, column+1)
			}
		}
	case swapColumns:
		other := a % len(header)
		c.done = fmt.Sprintf("columns %s and %s swapped", c.column, header[other])
		for _, cells := range c.rows {
			if column < len(cells) && other < len(cells) {
				cells[column], cells[other] = cells[other], cells[column]
			}
		}
	case swapWords:
		words := strings.Fields(c.column)
		if len(words) < 2 {
			return false
		}
		i := a % (len(words) - 1)
		words[i], words[i+1] = words[i+1], words[i]
		header[column] = strings.Join(words, " ")
		c.done = fmt.Sprintf("header %s is %s", c.column, header[column])
	case misspellHeader:
		header[column] = misspelt(c.column, a)
		c.done = fmt.Sprintf("header %s is %s", c.column, header[column])
	case misspellName:
		if column >= len(c.rows[row]) || strings.ContainsAny(c.rows[row][column], "0123456789?") || len(c.rows[row][column]) < 4 {
			return false
		}
		old := c.rows[row][column]
		c.rows[row][column] = misspelt(old, a)
		c.done = fmt.Sprintf("row %d, %s: %s is %s", row+1, c.column, old, c.rows[row][column])
	case blankCell:
		if column >= len(c.rows[row]) || c.rows[row][column] == "" {
			return false
		}
		c.done = fmt.Sprintf("row %d, %s: %s is gone", row+1, c.column, c.rows[row][column])
		c.rows[row][column] = ""
	}
	return true
}

// misspelt drops a letter, doubles one, or changes two.
func misspelt(text string, at int) string {
	letters := []rune(text)
	if len(letters) < 3 {
		return text
	}
	i := 1 + at%(len(letters)-2)
	switch at / 7 % 3 {
	case 0:
		return string(slices.Delete(letters, i, i+1))
	case 1:
		return string(slices.Insert(letters, i, letters[i]))
	}
	letters[i], letters[i+1] = letters[i+1], letters[i]
	return string(letters)
}

// counts are what a sheet holds, as numbers.
func counts(t *testing.T, s *sheet.Sheet, without int) map[string]float64 {
	held, err := s.Held()
	if err != nil {
		t.Fatal(err)
	}
	n := map[string]float64{}
	for key, text := range sums(slices.DeleteFunc(held, func(h sheet.HeldStint) bool { return h.Row == without })) {
		if v, err := strconv.ParseFloat(text, 64); err == nil {
			n[key] = v
		}
	}
	for key := range kinds { // nobody counted: whatever happened is in no rate
		if n[key+" not recorded"] == n["stints"] {
			delete(n, key)
		}
	}
	return n
}

// readings are what blanks of each column of counts mean.
func readings(s *sheet.Sheet) string {
	var text []string
	for _, c := range s.Columns {
		if c.Reading != nil {
			text = append(text, fmt.Sprint(c.Field, c.Reading.BlankIs))
		}
	}
	slices.Sort(text)
	return strings.Join(text, " ")
}

// A sheet that was changed holds the same, or is refused or asked about, or says what
// is different. go test -fuzz Changed tries more than the changes that are fixed here.
func FuzzChangedSheet(f *testing.F) {
	var sheets []changed
	for _, e := range corpus(f) {
		if c, ok := take(e); ok {
			sheets = append(sheets, c)
		}
	}
	if len(sheets) < 40 {
		f.Fatalf("only %d sheets to change", len(sheets))
	}
	before := make([]*sheet.Sheet, len(sheets)) // as each is taken before it is changed
	for i, c := range sheets {
		s, err := sheet.Read(f.Context(), bytes.NewReader(c.text()), c.name, c.options)
		if err != nil || refusal(s, nil) != "" || len(s.Stops) > 0 {
			f.Fatalf("%s is not taken before it is changed: %v %s", c.name, err, refusal(s, err))
		}
		before[i] = s
		for what := range changes {
			f.Add(uint(i), uint(what), uint(i*7+what*3), uint(i*5+what+3))
			if i%2 == 0 {
				f.Add(uint(i), uint(what), uint(i+what*11+2), uint(i*3+what*2))
			}
		}
	}
	f.Fuzz(func(t *testing.T, i, what, a, b uint) {
		i %= uint(len(sheets))
		c := sheets[i]
		const most = 1 << 16
		if !c.change(int(what%changes), int(a%most), int(b%most)) {
			return
		}
		after, err := sheet.Read(t.Context(), bytes.NewReader(c.text()), c.name, c.options)
		if err != nil || refusal(after, nil) != "" || len(after.Stops) > 0 {
			return
		}
		for _, fault := range c.faults(t, before[i], after) {
			t.Errorf("%s, %s: %s\n%s\n%s", c.name, c.done, fault, c.text(), told(after))
		}
	})
}

// faults are differences that nobody is told of.
func (c *changed) faults(t *testing.T, before, after *sheet.Sheet) (faults []string) {
	was, is := counts(t, before, c.row), counts(t, after, -1)
	if events := "for each event"; strings.Contains(told(before), events) && (c.what == misspellName || !strings.Contains(told(after), events)) {
		return nil // a session of its own, or rows that are none
	}
	if several := before.Rows != len(heldRows(t, before)); several && (c.what == misspellName || c.what == cutColumn && (c.column == "Stint" || c.column == "Position")) {
		return nil // rows of a stint that nothing holds together any more
	}
	if idle := "nothing but zeros"; strings.Contains(told(after), idle) && !strings.Contains(told(before), idle) {
		return nil
	}
	lost := "" // the field of which nothing may be known any more
	switch c.what {
	case cutRow:
		next := c.row - 1 // the row that stands there now
		dayless := next < len(c.rows) && c.rows[next][0] == ""
		if readings(before) != readings(after) || dayless || before.Rows != len(heldRows(t, before)) {
			return nil // whose day was cut is of another day now
		}
	case cutColumn, swapWords, misspellHeader:
		for _, col := range before.Columns {
			if col.Header == c.column || slices.Contains(col.Headers, c.column) {
				lost = col.Field
			}
		}
		for _, col := range after.Columns {
			if c.what != cutColumn && col.Field != "" && !hasField(before, col.Field) {
				faults = append(faults, fmt.Sprintf("%s is read as %s", col.Header, col.Field))
			}
		}
	case blankCell:
		if told(before) != told(after) {
			return nil
		}
	}
	for _, key := range slices.Sorted(maps.Keys(was)) {
		field, _, _ := strings.Cut(key, " not")
		untimed := key == "minutes" && strings.Contains(told(after), "no time fished")
		if was[key] == is[key] || untimed || lost != "" && (field == lost || slices.Contains(related[field], lost) || slices.Contains(related[lost], field)) {
			continue
		}
		faults = append(faults, fmt.Sprintf("%s were %g and are %g", key, was[key], is[key]))
	}
	return faults
}

// related are counts that follow from another where their own column is missing.
var related = map[string][]string{"hookups": {"landed", "lost"}, "minutes": {"start", "end", "break_minutes"}, "foul_hookups": {"hookups"}}

func hasField(s *sheet.Sheet, key string) bool {
	return slices.ContainsFunc(s.Columns, func(c sheet.Column) bool { return c.Field == key })
}

// heldRows are the numbers of the rows that stints begin in.
func heldRows(t *testing.T, s *sheet.Sheet) map[int]bool {
	held, err := s.Held()
	if err != nil {
		t.Fatal(err)
	}
	rows := map[int]bool{}
	for _, h := range held {
		rows[h.Row] = true
	}
	return rows
}
