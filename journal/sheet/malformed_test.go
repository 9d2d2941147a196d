package sheet_test

import (
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal/sheet"
)

const goodHead = "date,angler,water,minutes,junction,tag_in,tippet_x,hookups,foul_hookups,landed,lost,junction_breaks,snags,tangles,twists,checks,turns\n"

// Ensure that a file that can't be read is refused as a whole, with what to do.
func TestMalformedFiles(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ name, text, want string }{
		{"empty", "", "the file is empty"},
		{"only blanks", " \r\n\r\n", "the file is empty"},
		{"half a workbook", "PK\x03\x04rest", "copy or download it again"},
		{"an old workbook", "\xd0\xcf\x11\xe0\xa1\xb1", "save it as CSV"},
		{"a PDF", "%PDF-1.7", "CSV and import that"},
		{"zero bytes", "date,angler,water\n2025-04-01,a\x00b,c\n", "zero bytes"},
		{"no header", "2025-04-01,Maud,Tessel\n", "the first row must name the columns"},
		{"no date", "angler,minutes 2\nMaud,60\n", "no header row with a date"},
		{"no rows", "date,angler,water\n", "no rows"},
		{"an open quotation", "date,angler,water\n2025-04-01,\"Maud,Tessel\n2025-04-02,Maud,Tessel\n", "row 2, cell 2 opens a quotation mark that is never closed"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := sheet.Read(t.Context(), strings.NewReader(tt.text), "book.csv", sheet.Options{Units: units.US})
			if err == nil {
				t.Fatal("was taken")
			}
			if !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "book.csv: ") {
				t.Errorf("got %q, want something with %q", err, tt.want)
			}
		})
	}
}

// Ensure that a bad cell is named by row, column and value, with a remedy, and
// that it is the only one that is.
func TestMalformedCells(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ name, head, row, column, value, problem, remedy string }{
		{"a day that never was", goodHead, "2025-02-31,Maud,Tessel", "date", "2025-02-31", "February 2025 has 28 days", "correct the day"},
		{"the 13th month", goodHead, "2025-13-01,Maud,Tessel", "date", "2025-13-01", "has no month 13", "2025-04-30"},
		{"no day", goodHead, ",Maud,Tessel", "date", "", "is missing", "write the day"},
		{"no year", goodHead, "Apr 7,Maud,Tessel", "date", "Apr 7", "has no year", "write the year"},
		{"a word for a day", goodHead, "yesterday,Maud,Tessel", "date", "yesterday", "is not a day", "2025-04-30"},
		{"nobody", goodHead, "2025-04-01,-,Tessel", "angler", "-", "is missing", "write who fished"},
		{"nowhere", goodHead, "2025-04-01,Maud,", "water", "", "is missing", "write which water"},
		{"negative minutes", goodHead, "2025-04-01,Maud,Tessel,-30", "minutes", "-30", "is below zero", "45 min"},
		{"no minutes", goodHead, "2025-04-01,Maud,Tessel,0", "minutes", "0", "is not a time", "leave the cell empty"},
		{"more than a day", goodHead, "2025-04-01,Maud,Tessel,1500", "minutes", "1500", "is more than a day", "24 h"},
		{"a length for a time", goodHead, "2025-04-01,Maud,Tessel,6 in", "minutes", "6 in", "", "45 min"},
		{"a tag of nothing", goodHead, "2025-04-01,Maud,Tessel,60,blood,0", "tag_in", "0", "is not a length", "leave the cell empty"},
		{"a tag of 165 in", goodHead, "2025-04-01,Maud,Tessel,60,blood,165", "tag_in", "165", "comes to 4191 mm", "check the number and its unit"},
		{"a word for a tag", goodHead, "2025-04-01,Maud,Tessel,60,blood,long", "tag_in", "long", "is not a length", "6 1/2 in"},
		{"12X tippet", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,12X", "tippet_x", "12X", "", "6X"},
		{"half a fish", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,1.5", "hookups", "1.5", "is not a whole number", "whole number"},
		{"negative fish", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,-1", "hookups", "-1", "is below zero", "whole number"},
		{"a word for fish", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,some", "hookups", "some", "is not a number", "whole number"},
		{"a million fish", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,1000000", "hookups", "1000000", "can't be", "5000"},
		{"more foul than hooked", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,1,2", "foul_hookups", "2", "more foul (2) than hooked (1)", "among the hooked"},
		{"more landed than hooked", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,0,0,3", "landed", "3", "more landed, lost and broken off (3, 0 and 0) than hooked (0)", "correct the fish hooked"},
		{"more ended than hooked", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,3,0,2,2", "lost", "2", "(2, 2 and 0) than hooked (3)", "correct the fish hooked"},
		{"breaks of nothing", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,2,0,2,0,1,0", "junction_breaks", "1", "more breaks at the junction (1) than fish and snags", "count what broke it"},
		{"more twists than tangles", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,0,0,0,0,0,0,1,2", "tangles", "1", "(2, 0 and 0) than tangles (1)", "among the tangles"},
		{"checks without turns", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,0,0,0,0,0,0,0,0,2,", "checks", "2", "without the turns seen", "or ? if they were not counted"},
		{"turns without checks", goodHead, "2025-04-01,Maud,Tessel,60,blood,6,6,0,0,0,0,0,0,0,0,,3", "turns", "3", "turns (3) without a look at the tag", "add the checks"},
		{"too many cells", "date,angler,water,tag_cm\n", "2025-04-01,Maud,Tessel,6,5", "", "5", "is in cell 5, but the header has 4", "quotation marks"},
		{"an unknown bulk", "date,angler,water,bulk\n", "2025-04-01,Maud,Tessel,fluffy", "bulk", "fluffy", "is not a word for the fly's bulk", "slim, hackled, legged"},
		{"an unknown stroke", "date,angler,water,stroke\n", "2025-04-01,Maud,Tessel,yo-yo", "stroke", "yo-yo", "", "oval, sidearm"},
		{"other without a name", "date,angler,water,junction\n", "2025-04-01,Maud,Tessel,other", "junction", "other", "does not say which", "name itself"},
		{"hook 99", "date,angler,water,hook size\n", "2025-04-01,Maud,Tessel,#99", "hook size", "#99", "can't be", "36"},
		{"an end alone", "date,angler,water,start,end\n", "2025-04-01,Maud,Tessel,,19:00", "end", "19:00", "without a start", "write the start"},
		{"25 o'clock", "date,angler,water,start\n", "2025-04-01,Maud,Tessel,25:00", "start", "25:00", "is not a time of day", "06:30"},
		{"a zone that is none", "date,angler,water,time_zone\n", "2025-04-01,Maud,Tessel,Mars/Olympus", "time_zone", "Mars/Olympus", "is not a time zone", "IANA"},
		{"position 12", "date,angler,water,position\n", "2025-04-01,Maud,Tessel,12", "position", "12", "is not a position", "point"},
		{"a junction at the point", "date,angler,water,position,junction\n", "2025-04-01,Maud,Tessel,point,blood", "position", "point", "no hang, junction or tag", "leave those cells empty"},
		{"a knot on no fly", "date,angler,water,position,junction\n", "2025-04-01,Maud,Tessel,,blood", "position", "", "names no fly", "dropper 1"},
		{"a tag in line", "date,angler,water,hang,tag_mm\n", "2025-04-01,Maud,Tessel,eye,150", "hang", "eye", "is not a tag", "or write tag"},
		{"a tag that grew", "date,angler,water,tag_mm,tag_end_mm,fly_changes\n", "2025-04-01,Maud,Tessel,150,160,1", "tag_end_mm", "160", "longer than the 150 mm", "count the re-tie"},
		{"boiling water", "date,angler,water,water_temp_c\n", "2025-04-01,Maud,Tessel,54", "water_temp_c", "54", "comes to 54 °C", "unit"},
		{"a name that is a novel", "date,angler,water\n", "2025-04-01," + strings.Repeat("x", 121) + ",Tessel", "angler", strings.Repeat("x", 121), "longer than 120", "shorten it"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			good := "2025-05-01,Orrin,Tessel\n"
			s := readSheet(t, tt.head+good+tt.row+"\n"+good, "book.csv", sheet.Options{Units: units.US})
			if len(s.Bad) != 1 || s.BadRows() != 1 || s.Sessions != 1 {
				t.Fatalf("bad cells %v, %d bad rows, %d sessions", s.Bad, s.BadRows(), s.Sessions)
			}
			b := s.Bad[0]
			if b.Row != 3 || b.Column != tt.column || b.Value != tt.value || !strings.Contains(b.Problem, tt.problem) || !strings.Contains(b.Remedy, tt.remedy) {
				t.Errorf("got %+v", b)
			}
		})
	}
}

// Ensure that rows which don't go together are named, and that a stint with a
// bad row is kept out whole.
func TestMalformedStints(t *testing.T) {
	t.Parallel()
	const head = "date,angler,water,start,end,stint,position,minutes,tag_mm\n"
	for _, tt := range []struct {
		name, rows, want string
		bad              int
	}{
		{"one position twice", "2025-04-01,Maud,Tessel,,,1,1,60,150\n2025-04-01,Maud,Tessel,,,1,1,60,150\n", "row 3, position: “1” comes twice in this stint (row 2 has it too)", 2},
		{"two times fished", "2025-04-01,Maud,Tessel,,,1,1,60,150\n2025-04-01,Maud,Tessel,,,1,2,90,150\n", "row 3, minutes: “90” differs from the first row of its stint (row 2)", 2},
		{"a bad row among three", "2025-04-01,Maud,Tessel,,,1,1,60,150\n2025-04-01,Maud,Tessel,,,1,2,60,x\n2025-04-01,Maud,Tessel,,,2,1,60,150\n", "row 3, tag_mm: “x” is not a length", 2},
		{"more than the session lasted", "2025-04-01,Maud,Tessel,18:00,19:00,1,1,90,150\n", "the stints add up to 90 minutes, but the session lasted 60", 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := readSheet(t, head+tt.rows, "book.csv", sheet.Options{Units: units.US})
			if len(s.Bad) != 1 || s.BadRows() != tt.bad || !strings.Contains(s.Bad[0].String(), tt.want) {
				t.Errorf("bad cells %v, %d bad rows, want %d with %q", s.Bad, s.BadRows(), tt.bad, tt.want)
			}
		})
	}
}
