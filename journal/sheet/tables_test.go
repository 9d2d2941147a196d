package sheet_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

// book is a workbook to be made: sheets of rows of cells parted by commas.
type book struct {
	t    *testing.T
	file *excelize.File
}

func newBook(t *testing.T) *book { return &book{t, excelize.NewFile()} }

func (b *book) sheet(name string, rows ...string) *book {
	b.t.Helper()
	if len(b.file.GetSheetList()) == 1 && b.file.GetSheetList()[0] == "Sheet1" {
		b.check(b.file.SetSheetName("Sheet1", name))
	} else if _, err := b.file.NewSheet(name); err != nil {
		b.t.Fatal(err)
	}
	for i, row := range rows {
		for j, cell := range strings.Split(row, ",") {
			if cell != "" {
				at, _ := excelize.CoordinatesToCellName(j+1, i+1)
				b.check(b.file.SetCellStr(name, at, cell))
			}
		}
	}
	return b
}

func (b *book) merge(sheet, from, to string) *book {
	b.check(b.file.MergeCell(sheet, from, to))
	return b
}

func (b *book) check(err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

func (b *book) read(opt sheet.Options) (*sheet.Sheet, error) {
	b.t.Helper()
	var out bytes.Buffer
	b.check(b.file.Write(&out))
	return sheet.Read(b.t.Context(), &out, "book.xlsx", opt)
}

func (b *book) must(opt sheet.Options) *sheet.Sheet {
	b.t.Helper()
	s, err := b.read(opt)
	b.check(err)
	return s
}

// imported brings a sheet in, and returns its stints by day.
func imported(t *testing.T, s *sheet.Sheet) []journal.Session {
	t.Helper()
	store := journaltest.Store(t)
	if _, err := s.Import(t.Context(), store, sheet.How{}); err != nil {
		t.Fatal(err)
	}
	list := journaltest.Contents(t, store).Sessions
	slices.SortFunc(list, func(a, b journal.Session) int { return strings.Compare(a.Day.String(), b.Day.String()) })
	return list
}

func has(list []string, text string) bool {
	return slices.ContainsFunc(list, func(s string) bool { return strings.Contains(s, text) })
}

func tanglesOf(st journal.Stint) string {
	if !st.Recorded.Has(journal.KindTangles) {
		return "?"
	}
	n := 0
	for _, e := range st.Events {
		if e.Kind == journal.EventTangle {
			n += e.Count
		}
	}
	return fmt.Sprint(n)
}

// Ensure that each sheet is read by its own header, that blanks are judged over all of
// them, and that what a sheet has no column for is not recorded there alone.
func TestSheetsOfAWorkbook(t *testing.T) {
	t.Parallel()
	b := newBook(t).
		sheet("April", "Season book", "", "Date,Angler,Water,Minutes,Tangles", "2025-04-01,Maud,Tessel,60,0", "2025-04-02,Maud,Tessel,60,2", "Total,,,120,2").
		sheet("May", "Water,Tangles,Date,Minutes,Angler", "Tessel,,2025-05-01,60,Maud", "Tessel,1,2025-05-02,60,Maud").
		sheet("June", "Date,Angler,Water,Minutes", "2025-06-01,Maud,Tessel,45").
		sheet("Notes", "what to buy", "hooks").
		sheet("Empty").
		sheet("Old", "Date,Angler,Water,Minutes", "2024-06-01,Maud,Tessel,45")
	b.check(b.file.SetSheetVisible("Old", false))
	b.check(b.file.SetRowVisible("April", 5, false))
	s := b.must(sheet.Options{Units: units.US})
	if s.Rows != 5 || len(s.Columns) != 5 || !slices.Equal(s.Columns[4].Missing, []string{"June"}) {
		t.Errorf("%d rows, columns %+v", s.Rows, s.Columns)
	}
	if want := []sheet.TakenSheet{{"April", 2, ""}, {"May", 2, ""}, {"June", 1, ""}, {"Notes", 0, "without a header that has a date"}, {"Empty", 0, "empty"}, {"Old", 0, "hidden"}}; !slices.Equal(s.Sheets, want) {
		t.Errorf("sheets %+v", s.Sheets)
	}
	for _, says := range []string{"The sheet Old was left out: it is hidden.", "The sheet Notes was left out", "Hidden rows of April are taken like the others: 5."} {
		if !has(s.Choices, says) {
			t.Errorf("%q is not said: %q", says, s.Choices)
		}
	}
	got := ""
	for _, session := range imported(t, s) {
		got += session.Day.String()[5:] + " " + tanglesOf(session.Stints[0]) + ", "
	}
	if want := "04-01 0, 04-02 2, 05-01 ?, 05-02 1, 06-01 ?, "; got != want {
		t.Errorf("tangles are %s want %s", got, want)
	}

	s = b.must(sheet.Options{Sheets: []string{"may", "Old"}})
	if s.Rows != 3 || s.Columns[1].Reading == nil || s.Columns[1].Reading.BlankIs != sheet.BlankZero {
		t.Errorf("of chosen sheets: %d rows, %+v", s.Rows, s.Columns[1])
	}
	if _, err := b.read(sheet.Options{Sheets: []string{"July"}}); err == nil || !strings.Contains(err.Error(), "it has: April, May, June") {
		t.Errorf("a sheet that is not there gave %v", err)
	}
}

// Ensure that messages and rejects name the sheet and the header as written.
func TestBadCellsOfAWorkbook(t *testing.T) {
	t.Parallel()
	s := newBook(t).
		sheet("April", "Date,Angler,Water,Tangles", "2025-04-01,Maud,Tessel,some", "2025-04-02,Maud,Tessel,1").
		sheet("May", "Angler,Datum,Water,Verwicklungen", "Maud,2025-05-01,Tessel,-1").
		must(sheet.Options{})
	var got []string
	for _, b := range s.Bad {
		got = append(got, b.String())
	}
	if len(got) != 2 || !strings.HasPrefix(got[0], "April, row 2, Tangles: “some” is not a number") || !strings.HasPrefix(got[1], "May, row 2, Verwicklungen: “-1” is below zero") {
		t.Errorf("bad cells %q", got)
	}
	var rejects bytes.Buffer
	if err := s.WriteRejects(&rejects); err != nil {
		t.Fatal(err)
	}
	corrected := strings.NewReplacer("some", "3", "-1", "4").Replace(rejects.String())
	sessions := imported(t, readSheet(t, corrected, "rejects.csv", sheet.Options{}))
	if len(sessions) != 2 || tanglesOf(sessions[0].Stints[0]) != "3" || tanglesOf(sessions[1].Stints[0]) != "4" {
		t.Errorf("the corrected rejects\n%s\nhold %+v", corrected, sessions)
	}
}

// Ensure that merged cells count for all their rows where they name or describe, and
// that a number of several rows is refused.
func TestMergedCells(t *testing.T) {
	t.Parallel()
	rows := []string{"Date,Angler,Water,Knot,Minutes,Tangles", "2025-04-01,Maud,Tessel,blood,60,1", ",,,fig 8,45,2", ",,,fig 8,30,0", "2025-04-02,Maud,Tessel,blood,60,0"}
	merged := newBook(t).sheet("April", rows...).merge("April", "A2", "A4").merge("April", "B2", "B4").merge("April", "C2", "C4")
	sessions := imported(t, merged.must(sheet.Options{}))
	if len(sessions) != 2 || len(sessions[0].Stints) != 3 || tanglesOf(sessions[0].Stints[1]) != "2" {
		t.Fatalf("got %+v", sessions)
	}
	s := merged.merge("April", "F2", "F3").must(sheet.Options{})
	if len(s.Bad) != 2 || s.BadRows() != 2 || !strings.Contains(s.Bad[0].String(), "April, row 2, Tangles: “1” is one number for 2 rows; write one in each") {
		t.Errorf("bad cells %v", s.Bad)
	}
}

// Ensure that blank days are those above only where a day is written once, and that it
// is said.
func TestFillDown(t *testing.T) {
	t.Parallel()
	const head = "date,angler,water,knot,tangles\n"
	for _, tt := range []struct {
		name, rows string
		sessions   int
		bad        int
		says       string
	}{
		{"days", "2025-04-01,Maud,Tessel,blood,1\n,,,fig 8,0\n2025-04-02,Maud,Hob,ring,0\n,,,uni,1\n", 2, 0, "date (2), angler (2), water (2)"},
		{"days written twice", "2025-04-01,Maud,Tessel,blood,1\n2025-04-01,Maud,Tessel,ring,1\n,,,fig 8,0\n2025-04-02,Maud,Hob,ring,0\n", 2, 1, ""},
		{"an angler of another day", "2025-04-01,Maud,Tessel,blood,1\n2025-04-02,,Tessel,fig 8,0\n2025-04-03,Orrin,Hob,ring,0\n2025-04-04,Orrin,Hob,ring,0\n", 3, 1, ""},
		{"anglers written where they change", "2025-04-01,Maud,Tessel,blood,1\n2025-04-02,,Tessel,fig 8,0\n2025-04-03,,Hob,ring,0\n2025-04-04,Orrin,Hob,ring,0\n", 4, 0, "angler (2)"},
		{"below a blank row", "2025-04-01,Maud,Tessel,blood,1\n,,,,\n,Maud,Tessel,fig 8,0\n2025-04-02,Maud,Hob,ring,0\n", 2, 1, ""},
		{"below a total", "2025-04-01,Maud,Tessel,blood,1\nTotal,,,,1\n,Maud,Tessel,fig 8,0\n2025-04-02,Maud,Hob,ring,0\n", 2, 1, ""},
		{"dittos", "2025-04-01,Maud,Tessel,blood,1\n\"\"\"\",\"\"\"\",ditto,\"\"\"\",0\n2025-04-01,Maud,Tessel,ring,0\n", 1, 0, "4 cells say “as above”"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := readSheet(t, head+tt.rows, "book.csv", sheet.Options{})
			if s.Sessions != tt.sessions || s.BadRows() != tt.bad || tt.says != "" && !has(s.Choices, tt.says) {
				t.Errorf("%d sessions, bad %v, says %q", s.Sessions, s.Bad, s.Choices)
			}
			if tt.says == "" && has(s.Choices, "row above") {
				t.Errorf("says %q", s.Choices)
			}
		})
	}
}

// Ensure that a range is refused with the remedy, or taken as its middle and told.
func TestRanges(t *testing.T) {
	t.Parallel()
	const head = "date,angler,water,minutes,tag_in,hookups,tangles\n"
	for cells, want := range map[string]string{
		"60,6,4,2-3":      "tangles 2",
		"60,6,4,2–3":      "tangles 2",
		"60,6,4,2 to 4":   "tangles 3",
		"60,6,4,2/3?":     "holds 2 values",
		"45-60 min,6,4,1": "minutes 52.5",
		"60,6-7,4,1":      "tag 165.1",
		"60,6,4,02-Mar":   "is a day, which spreadsheet programs make of a range",
		"60,6,4,two":      "is not a number",
	} {
		text := head + "2025-04-01,Maud,Tessel," + cells + "\n"
		refused := readSheet(t, text, "book.csv", sheet.Options{Units: units.US})
		if len(refused.Bad) != 1 || refused.BadRows() != 1 {
			t.Errorf("%s: bad cells %v", cells, refused.Bad)
			continue
		}
		column, number, _ := strings.Cut(want, " ")
		if len(strings.Fields(want)) != 2 {
			if !strings.Contains(refused.Bad[0].Problem, want) {
				t.Errorf("%s: %v, want %s", cells, refused.Bad, want)
			}
			continue
		}
		if !strings.Contains(refused.Bad[0].String(), "--ranges middle") {
			t.Errorf("%s: %v", cells, refused.Bad)
		}
		s := readSheet(t, text, "book.csv", sheet.Options{Units: units.US, Ranges: sheet.RangesMiddle})
		if !has(s.Choices, "taken as their middle") && !has(s.Choices, "taken as its middle") {
			t.Errorf("%s: says %q", cells, s.Choices)
		}
		st := imported(t, s)[0].Stints[0]
		got := map[string]string{"tangles": tanglesOf(st), "minutes": fmt.Sprint(*st.Minutes), "tag": "165.1"}[column]
		if got != number {
			t.Errorf("%s: %s is %s", cells, want, got)
		}
	}
	if s := readSheet(t, head+"3-4 May 2025,Maud,Tessel,60,6,1,1\n", "book.csv", sheet.Options{Units: units.US}); len(s.Bad) != 1 || !strings.Contains(s.Bad[0].Problem, "more than one day") {
		t.Errorf("two days: %v", s.Bad)
	}
}

// Ensure that a number of hours and minutes never becomes a minute.
func TestHoursAndMinutes(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		header string
		cells  []string
		key    string
		want   string // minutes, or of what the column or the cell is accused
	}{
		{"Hours", []string{"1.25", "0.75", "2"}, "", "75 45 120"},
		{"Hours", []string{"1.3", "0.75", "2"}, "", "78 45 120"},
		{"Hours", []string{"1.30", "0.45", "2"}, "", "may be hours and minutes"},
		{"Hours", []string{"1.30", "0.45", "2"}, "hours.minutes", "90 45 120"},
		{"Hours", []string{"1.3", "0.45", "2"}, "hours.minutes", "90 45 120"},
		{"Hours", []string{"1.30", "0.45", "2"}, "hours", "78 27 120"},
		{"Hours", []string{"1:30", "0:45", "2"}, "", "90 45 120"},
		{"Minutes", []string{"1.30", "90"}, "", "write 1:30"},
		{"Minutes", []string{"1.3", "2.15"}, "", "write 1:30"},
		{"Minutes", []string{"90", "45"}, "", "90 45"},
		{"Rod time", []string{"90", "45"}, "", "90 45"},
		{"Rod time", []string{"90", "2"}, "", "write 2 h or 2 min"},
		{"Rod time", []string{"3", "2"}, "", "hours or minutes"},
		{"Rod time", []string{"3", "2"}, "hours", "180 120"},
		{"Rod time", []string{"1h30", "90 min"}, "", "90 90"},
	} {
		text := "date,angler,water," + tt.header + "\n"
		for i, cell := range tt.cells {
			text += fmt.Sprintf("2025-04-0%d,Maud,Tessel,%s\n", i+1, cell)
		}
		var opt sheet.Options
		if tt.key != "" {
			opt.Columns = []sheet.ColumnRule{{Header: tt.header, Key: tt.key}}
		}
		s := readSheet(t, text, "book.csv", opt)
		var got []string
		for _, stop := range s.Stops {
			got = append(got, stop.String())
		}
		for _, bad := range s.Bad {
			got = append(got, bad.String())
		}
		if len(got) == 0 {
			for _, session := range imported(t, s) {
				got = append(got, fmt.Sprint(*session.Stints[0].Minutes))
			}
		}
		if text := strings.Join(got, " "); text != tt.want && !strings.Contains(text, " "+tt.want) && !strings.Contains(text, tt.want) {
			t.Errorf("%s of %q as %q: %s, want %s", tt.header, tt.cells, tt.key, text, tt.want)
		}
	}
}

// Ensure that columns are what somebody says they are, and that what can't be is refused.
func TestChosenColumns(t *testing.T) {
	t.Parallel()
	const text = "date,Pal,water,Fish,Dropper,Score\n2025-04-01,Maud,Tessel,3,6,1\n2025-04-02,Maud,Tessel,0,7,0\n2025-04-03,Maud,Tessel,1,7,0\n"
	rule := func(list ...string) sheet.Options {
		var opt sheet.Options
		for _, text := range list {
			r, err := sheet.ParseColumnRule(text)
			if err != nil {
				t.Fatal(err)
			}
			opt.Columns = append(opt.Columns, r)
		}
		return opt
	}
	s := readSheet(t, text, "book.csv", rule("Pal=angler", "Fish=hookups", "Dropper=tag_length_in", "Score=ignore"))
	if len(s.Stops)+len(s.Bad) > 0 || s.Sessions != 3 {
		t.Fatalf("stops %v, bad %v", s.Stops, s.Bad)
	}
	for i, want := range []string{"date", "angler", "water", "hookups", "tag_length in", ""} {
		c := s.Columns[i]
		if got := strings.TrimSpace(c.Field + " " + c.Unit); got != want || c.Chosen != (i == 1 || i > 2) {
			t.Errorf("%s is %q, chosen %v", c.Header, got, c.Chosen)
		}
	}
	if s := readSheet(t, text, "book.csv", rule("Pal=angler", "Dropper=ignore", "Score=ignore")); s.Columns[3].Field != "landed" || !strings.Contains(s.Columns[3].Note, `--column "Fish=hookups"`) {
		t.Errorf("fish are %+v", s.Columns[3])
	}
	const rigs = "date,angler,water,Rig 1 knot,Rig 1 fish,Rig 2 knot,Rig 2 fish\n2025-04-01,Maud,Tessel,blood,2,ring,1\n"
	if s := readSheet(t, rigs, "book.csv", rule("Rig 1 fish=hookups")); s.Stints != 2 || !slices.ContainsFunc(s.Columns, func(c sheet.Column) bool { return c.Field == "hookups" && c.Chosen && len(c.Headers) == 2 }) {
		t.Errorf("of rigs side by side: %+v", s.Columns)
	}
	for rules, want := range map[string]string{
		"Pal=anglr":            "did you mean angler?",
		"Boat=angler":          `no column is called "Boat"; the columns are: date, Pal`,
		"Pal=water":            `“water” and`,
		"Dropper=tag_length_s": "can't be chosen",
	} {
		_, err := sheet.Read(t.Context(), strings.NewReader(text), "book.csv", rule(rules, "Score=ignore"))
		if rules == "Pal=water" {
			continue // the one that was chosen is meant
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", rules, err)
		}
	}
	for _, wrong := range []string{"Pal", "=angler", "Pal="} {
		if _, err := sheet.ParseColumnRule(wrong); err == nil {
			t.Errorf("%q was taken for a rule", wrong)
		}
	}
	for _, f := range sheet.Fields() {
		if f.Title == "" || f.Group == "" {
			t.Errorf("%+v is not shown", f)
		}
		if _, err := sheet.Read(t.Context(), strings.NewReader(text), "book.csv", rule("Score="+f.Key)); err != nil && !strings.Contains(err.Error(), "rows") {
			t.Errorf("a column can't be chosen as %s: %v", f.Key, err)
		}
	}
}
