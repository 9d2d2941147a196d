package sheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
)

// FuzzRead tries any bytes as a spreadsheet: no panic, every bad cell with a
// remedy, and every row either good, bad or skipped.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"guide-book-2025.csv", "metric-notebook.csv"} {
		b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "samples", name))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b[:min(len(b), 1500)], "us")
	}
	f.Add([]byte("date,angler,water,stint,position,hang,junction,tag_mm,tag_end_mm,fly_changes,reties,hookups,landed,tangles,minutes_lost,untimed_tangles,checks,turns,start,end,session,rig,fly\n"+
		"2025-04-01,a,b,1,1,tag,blood,150,140,2,0,3,2,4,5,1,2,3,18:00,19:00,x,Rig (revision 2),f\n2025-04-01,a,b,1,point,,,,,,,,,,,,,,,,x,,\n"), "metric")
	f.Add([]byte("date,angler,water,time_zone,session,stint,position,start,end,hookups,foul_hookups,lost,fair_lost,untold_hookups,tangles,checks,turns,minutes_lost,untimed_tangles,uncounted,counts_kept\n"+
		"2025-04-01,a,b,UTC,x,1,1,22:00:00,02:00:00,3,1,2,1,1,,0,,,,tangles 1; untimed_tangles 1,noted\n2025-04-01,a,b,UTC,x,1,rig,,,?,-,none,,,,,,,,,assumed\n"), "metric")
	f.Add([]byte("sep=;\r\ntitle\r\nDate;Who;Where;Flies;Tag\r\n\"7 Apr 25\";a;b;slim;6½\r\n"), "")
	f.Add([]byte("Date,Angler,Water,Rig 1 knot,Rig 1 hours,Rig 1 fish,Rig 2 knot,Rig 2 hours,Rig 2 fish\n2025-04-01,a,b,blood,1.30,2,,,\n,,,blood,2,1-2,ring,1,0\nTotal,,,,,3,,,\n"), "us")
	f.Add([]byte("Date,Angler,Water,Event,Knot\n2025-04-01,a,b,landed,blood\n2025-04-01,a,b,tangle,blood\n2025-04-02,a,b,nothing,ring\n"), "us")
	f.Add([]byte("\xff\xfed\x00a\x00t\x00e\x00"), "")
	f.Fuzz(func(t *testing.T, b []byte, system string) {
		s, err := Read(t.Context(), bytes.NewReader(b), "fuzz", Options{Units: units.System(system), Angler: "a", Water: "b"})
		if err != nil {
			if len(err.Error()) < 10 {
				t.Errorf("the error says nothing: %v", err)
			}
			return
		}
		for _, bad := range s.Bad {
			if bad.Problem == "" || bad.Remedy == "" || bad.Row < 1 {
				t.Errorf("a bad cell is not explained: %+v", bad)
			}
		}
		for _, stop := range s.Stops {
			if stop.Why == "" || stop.Header == "" && len(stop.Likely) == 0 { // of a column all may be told already
				t.Errorf("a stop is not explained: %+v", stop)
			}
		}
		taken := map[[2]any]bool{} // rows of the file, of which rigs side by side make several
		for _, o := range s.outings {
			for _, st := range o.stints {
				for _, r := range st.rows {
					for _, number := range append([]int{r.number}, r.others...) {
						taken[[2]any{r.of.table, number}] = true
					}
				}
			}
		}
		for _, r := range s.rows {
			for _, number := range append([]int{r.number}, r.others...) {
				if r.bad {
					taken[[2]any{r.of.table, number}] = true
				}
			}
		}
		if len(taken) != s.Rows && !s.lacking {
			t.Errorf("%d rows taken or bad, of %d", len(taken), s.Rows)
		}
		if s.BadRows() > 0 != (len(s.Bad) > 0) {
			t.Errorf("%d bad rows, but bad cells are %v", s.BadRows(), s.Bad)
		}
		if err := s.Report(io.Discard, 80); err != nil {
			t.Error(err)
		}
		if err := s.WriteRejects(io.Discard); err != nil {
			t.Error(err)
		}
		again, err := Read(t.Context(), bytes.NewReader(b), "fuzz", Options{Units: units.System(system), Angler: "a", Water: "b"})
		if err != nil {
			t.Fatalf("read again: %v", err)
		}
		if first, second := fuzzedCounts(t, s), fuzzedCounts(t, again); first != second {
			t.Errorf("read twice it holds other counts:\n%s\nand\n%s", first, second)
		}
	})
}

// fuzzedCounts are the stints that a sheet holds with all that happened in them, as text.
func fuzzedCounts(t *testing.T, s *Sheet) string {
	t.Helper()
	held, err := s.Held()
	if err != nil {
		t.Fatalf("what was taken can't be written: %v", err)
	}
	var text strings.Builder
	for _, h := range held {
		h.Rig.ID, h.Stint.ID, h.Stint.RigID = journal.ID{}, journal.ID{}, journal.ID{} // made anew at each reading
		line, err := json.Marshal(h)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&text, "%s\n", line)
	}
	return text.String()
}

// FuzzRecords holds the splitter against encoding/csv: what that writes, ours
// reads as it was.
func FuzzRecords(f *testing.F) {
	f.Add("a", "6 1/2\"", "x\ny", ",")
	f.Add("", "\r\n", "\"", "  ")
	f.Fuzz(func(t *testing.T, a, b, c, d string) {
		rows := [][]string{{a, b}, {c, d}, {"end", ""}}
		for i := range rows {
			for j := range rows[i] { // it writes a lone return as it stands, and reads it as a line end
				rows[i][j] = strings.ReplaceAll(rows[i][j], "\r", "")
			}
		}
		for _, separator := range separators {
			var text strings.Builder
			w := csv.NewWriter(&text)
			w.Comma = separator
			if err := w.WriteAll(rows); err != nil {
				t.Skip(err)
			}
			got, err := records(text.String(), byte(separator))
			if err != nil || !reflect.DeepEqual(got, rows) {
				t.Fatalf("%q became %q, %v", rows, got, err)
			}
		}
	})
}
