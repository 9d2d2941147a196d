package sheet_test

import (
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

// Invented, as a tester keeps it: own headers, units in them and in cells.
const ownPulls = `Date;Knot;Which way;Facing;Line size;Made of;Material;Soaked;Pulled on;Peak (lbs);Result;Who tied;Batch;Remarks
3/14/2026;Fig 8;;down;6X;;mono;yes;tag;1,95;knot;Maud;spool A;"slow pull"
3/14/2026;figure of eight;;up;6X;;nylon;yes;tag;1,60;junction;Maud;spool A;
3/14/2026;figure of eight;;up;6X;;nylon;yes;tag;1,60;junction;Maud;spool A;
3/14/2026;surgeon's;;down;0.127 mm;;nylon;wet;dropper;0,9 kg;slipped;Orrin;spool A;
3/14/2026;none;;;6X;;nylon;wet;;2,4;main line;;spool A;
3/14/2026;Bimini;;;6X;;fluoro;no;main line;10 N;held;;;
`

func readPulls(t *testing.T, text string, opt sheet.Options) *sheet.BenchSheet {
	t.Helper()
	opt.Now = func() time.Time { return time.Date(2026, time.April, 2, 12, 0, 0, 0, time.UTC) }
	s, err := sheet.ReadBench(t.Context(), strings.NewReader(text), "pulls.csv", opt)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func importPulls(t *testing.T, store *pg.Store, text string) sheet.BenchResult {
	t.Helper()
	r, err := readPulls(t, text, sheet.Options{}).Import(t.Context(), store)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestBenchSheet(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	if r := importPulls(t, store, ownPulls); r.Added != 6 || r.Rows != 6 || strings.Join(r.NewAnglers, ",") != "Maud,Orrin" {
		t.Fatalf("did %+v", r)
	}
	list, err := store.BenchPulls(t.Context())
	if err != nil || len(list) != 6 {
		t.Fatalf("%d pulls (%v)", len(list), err)
	}
	day := journal.Date{Year: 2026, Month: time.March, Day: 14}
	first := list[0]
	if first.Day != day || first.Junction != "figure-eight" || first.Facing != "down" || first.TippetMM != 0.127 || first.Material != "nylon" || first.Wetness != "wet" || first.PulledOn != "tag" ||
		first.ForceN != 1.95*4.4482216152605 || first.Ending != journal.PulledBroke || first.BrokeAt != journal.PullBrokeJunction || first.Label != "spool A" || first.Note != "slow pull" || first.AnglerID == nil {
		t.Errorf("the first is %+v", first)
	}
	if s := list[3]; s.Junction != "double surgeon's" || s.ForceN != 8.825985 || s.Ending != journal.PulledSlipped || s.BrokeAt != "" {
		t.Errorf("the slip is %+v", s)
	}
	if s := list[4]; s.Knotted() || s.BrokeAt != journal.PullBrokeMain || s.AnglerID != nil {
		t.Errorf("the plain line is %+v", s)
	}
	if s := list[5]; s.Knot() != "Bimini" || s.Ending != journal.PulledHeld || s.Wetness != "dry" || s.ForceN != 10 {
		t.Errorf("the last is %+v", s)
	}
	if r := importPulls(t, store, ownPulls); r.Added != 0 || r.AlreadyThere != 6 {
		t.Errorf("imported again: %+v", r)
	}
}

func TestBenchSheetMeetsTheJournal(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	importPulls(t, store, ownPulls)
	list, err := store.BenchPulls(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var csv strings.Builder
	if err := exchange.WriteBenchCSV(t.Context(), store, &csv); err != nil {
		t.Fatal(err)
	}
	changed := list[0]
	changed.ForceN = 9
	if _, err := store.SaveBenchPull(t.Context(), changed); err != nil {
		t.Fatal(err)
	}
	if err := store.DeleteBenchPull(t.Context(), list[1].ID, 0); err != nil {
		t.Fatal(err)
	}
	if r := importPulls(t, store, csv.String()); r.Added != 1 || r.Returned != 1 || r.Differ != 1 || r.AlreadyThere != 4 {
		t.Errorf("read back: %+v", r)
	}
	other := journaltest.Store(t)
	if r := importPulls(t, other, csv.String()); r.Added != 6 {
		t.Fatalf("into an empty journal: %+v", r)
	}
	var again strings.Builder
	if err := exchange.WriteBenchCSV(t.Context(), other, &again); err != nil || again.String() != csv.String() {
		t.Errorf("written again (%v):\n%s\nwant:\n%s", err, again.String(), csv.String())
	}
}

func TestBenchSheetRefuses(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	bad := "date,junction,tippet_x,force_lbf,ending,broke_at\n2026-03-01,blood,6,1.9,broke,junction\n2026-03-01,blood,6,strong,broke,junction\n2026-03-01,,6,2,slipped,\n2026-03-01,blood,40,2,broke,elbow\n2026-03-01,blood,6,,,\n"
	table := readPulls(t, bad, sheet.Options{})
	if n := table.BadRows(); n != 4 {
		t.Errorf("%d bad rows, want 4", n)
	}
	var report strings.Builder
	if err := table.Report(&report, 0); err != nil {
		t.Fatal(err)
	}
	_, err := table.Import(t.Context(), store)
	if err == nil {
		t.Fatal("bad rows were imported")
	}
	for _, want := range []string{"row 3, force_lbf: “strong”", "row 4: a line without a junction can't slip", "row 5, tippet_x: “40”", "row 5, broke_at: “elbow” is not a place", "row 6, force_lbf: is missing", "Correct them and import again."} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("the refusal lacks %q:\n%v", want, err)
		}
	}
	if !strings.Contains(report.String(), "4 rows can't be taken") {
		t.Errorf("the report says\n%s", report.String())
	}
	if list, _ := store.BenchPulls(t.Context()); len(list) > 0 {
		t.Errorf("%d pulls were written", len(list))
	}
	for text, want := range map[string]string{
		"":                                "the file is empty",
		"date,junction\n2026-03-01,blood": "no header row with a force",
		"force_n,ending\n9,broke\n":       "no column has the tippet",
		"force_n,tippet\n9,6X\n":          "no column says how a pull ended",
	} {
		if _, err := sheet.ReadBench(t.Context(), strings.NewReader(text), "x.csv", sheet.Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want something with %q", text, err, want)
		}
	}
	if s := readPulls(t, "force,tippet,ending\n9,6X,broke\n", sheet.Options{}); s.BadRows() != 1 {
		t.Error("a force without a unit was taken")
	}
}

// Ensure that no spreadsheet of pulls makes the reader stumble, and that every row
// is taken or named as bad.
func FuzzReadBench(f *testing.F) {
	f.Add(ownPulls)
	f.Add("force_n,tippet,ending\n9,6X,broke\n")
	f.Add("Peak (kg);Line;Result;Knot\n1,2;0,14 mm;slipped;other: none\n;;;\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := sheet.ReadBench(t.Context(), strings.NewReader(text), "x.csv", sheet.Options{Now: func() time.Time { return time.Date(2026, time.April, 2, 12, 0, 0, 0, time.UTC) }})
		if err != nil {
			return
		}
		var report strings.Builder
		if err := s.Report(&report, 0); err != nil || report.Len() == 0 {
			t.Errorf("no report: %v", err)
		}
	})
}
