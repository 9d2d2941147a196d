package sheet_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

// Ensure that what is open stops an import, with what to say, and that saying it lets
// the file in.
func TestStops(t *testing.T) {
	t.Parallel()
	const head = "date,angler,water"
	rows := func(last ...string) string {
		var b strings.Builder
		for i, cell := range last {
			b.WriteString("2025-04-1" + string(rune('0'+i)) + ",Maud,Tessel," + cell + "\n")
		}
		return b.String()
	}
	for _, tt := range []struct {
		name, text, header, says string
		opt                      sheet.Options
		likely                   string // that is chosen then
	}{
		{"no angler", "date,water\n2025-04-01,Tessel\n", "", "--angler", sheet.Options{Angler: "Maud"}, ""},
		{"no water", "date,angler\n2025-04-01,Maud\n", "", "--water", sheet.Options{Water: "Tessel"}, ""},
		{"a column twice", head + ",Tag (in),tag cm\n" + rows("6,15"), "tag cm", `“tag cm” and “Tag (in)” both tell the tag length`, sheet.Options{}, "tag_length"},
		{"ambiguous dates", head + "\n04/06/2025,Maud,Tessel\n05/06/2025,Maud,Tessel\n", "date", `"04/06/2025" is 4 June or 6 April; say --dates day-first or --dates month-first`, sheet.Options{}, "date.month-first"},
		{"small numbers", head + ",Score\n" + rows("1", "-", "0", "2", "12"), "Score", `holds small whole numbers, and its header is not understood (it holds 1, 0, 2); say --column "Score=tangles" or --column "Score=landed"`, sheet.Options{}, "tangles"},
		{"a slip of a header", head + ",Tagnles\n" + rows("1"), "Tagnles", "resembles a header", sheet.Options{}, "tangles"},
		{"a slip of fish", head + ",Poisons\n" + rows("1"), "Poisons", `understood (it holds 1); say --column "Poisons=landed"`, sheet.Options{}, "landed"},
		{"a word for what happens", head + ",Fish that got away\n" + rows("1"), "Fish that got away", "resembles a header", sheet.Options{}, "lost"},
		{"an hour that may be minutes", head + ",rod time\n" + rows("4", "5"), "rod time", "hours or minutes", sheet.Options{}, "minutes"},
		{"hours and minutes, or a fraction", head + ",Hours\n" + rows("1.30", "2.15", "0.45"), "Hours", `such as 1.30`, sheet.Options{}, "hours.minutes"},
		{"a time of day or fished", head + ",Time\n" + rows("2:15"), "Time", "could be the start, or the time fished", sheet.Options{}, "minutes"},
		{"fish beside those hooked and landed", head + ",Hooked,Landed,Fish\n" + rows("3,1,1"), "Fish", "beside those hooked and landed", sheet.Options{}, "lost"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			tt.opt.Units = units.US
			asked := sheet.Options{Units: units.US}
			s := readSheet(t, tt.text, "book.csv", asked)
			if len(s.Stops) != 1 || s.Stops[0].Header != tt.header || !strings.Contains(s.Stops[0].String(), tt.says) {
				t.Fatalf("stopped by %v, want %s", s.Stops, tt.says)
			}
			store := journaltest.Store(t)
			var stopped *sheet.Stopped
			if _, err := s.Import(t.Context(), store, sheet.How{}); !errors.As(err, &stopped) || !strings.Contains(err.Error(), tt.says) {
				t.Fatalf("importing gave %v", err)
			}
			if c := journaltest.Contents(t, store); len(c.Sessions)+len(c.Anglers) > 0 {
				t.Error("something was written all the same")
			}
			if tt.likely != "" {
				if !slices.Contains(s.Stops[0].Likely, tt.likely) {
					t.Fatalf("%s is not among the likely %v", tt.likely, s.Stops[0].Likely)
				}
				tt.opt.Columns = []sheet.ColumnRule{{Header: tt.header, Key: tt.likely}}
			}
			s = readSheet(t, tt.text, "book.csv", tt.opt)
			if r, err := s.Import(t.Context(), store, sheet.How{}); err != nil || r.Stints == 0 {
				t.Errorf("%+v, %v, %v", r, err, s.Bad)
			}
		})
	}
}

// Ensure that columns and names that must be decided about are named at once.
func TestStopsAndNamesAtOnce(t *testing.T) {
	t.Parallel()
	s := readSheet(t, "date,angler,water,minutes,Score\n2025-05-03,Orin,Hob,120,3\n2025-05-04,Orrin,Hob,60,4\n2025-05-05,Orrin,Hob,60,4\n", "book.csv", sheet.Options{})
	_, err := s.Import(t.Context(), journaltest.Store(t), sheet.How{})
	for _, says := range []string{`--column "Score=ignore"`, `angler Orin (1 row, from row 2 on)`, `--same "Orin=Orrin"`} {
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("importing gave %v, want %s", err, says)
		}
	}
}
