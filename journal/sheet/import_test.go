package sheet_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

// Ensure that a session which the journal holds otherwise is left as it is, and
// comes anew once it is deleted there.
func TestDifferingSession(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	const text = "date,angler,water,minutes,tangles\n2025-04-01,Maud,Tessel,60,2\n2025-04-02,Maud,Tessel,60,0\n"
	journaltest.Import(t, store, text, sheet.Options{})
	before := journaltest.Backup(t, store)

	changed := strings.Replace(text, "60,2", "60,3", 1)
	r := journaltest.Import(t, store, changed, sheet.Options{})
	if len(r.Differ) != 1 || r.AlreadyThere != 1 || r.Added != 0 || r.Differ[0].String() != "2025-04-01, Maud on Tessel (row 2)" {
		t.Fatalf("did %+v", r)
	}
	if journaltest.Backup(t, store) != before {
		t.Error("the journal was changed")
	}

	if err := store.DeleteSession(t.Context(), journaltest.Contents(t, store).Sessions[0].ID, 0); err != nil {
		t.Fatal(err)
	}
	r = journaltest.Import(t, store, changed, sheet.Options{})
	c := journaltest.Contents(t, store)
	if r.Added != 1 || r.Returned != 1 || len(c.Deleted) != 0 || c.Sessions[0].Stints[0].Events[0].Count != 3 {
		t.Errorf("did %+v", r)
	}
}

// Ensure that what a person added to a session in the journal does not make it
// differ from a file that says nothing of it.
func TestEnrichedSession(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	const text = "date,angler,water,minutes,hookups,landed\n2025-04-01,Maud,Tessel,60,2,2\n"
	journaltest.Import(t, store, text, sheet.Options{})
	s := journaltest.Contents(t, store).Sessions[0]
	s.Wind, s.Stints[0].Events[0].Species = "light", "grayling"
	if _, err := store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	if r := journaltest.Import(t, store, text, sheet.Options{}); r.AlreadyThere != 1 || len(r.Differ) != 0 {
		t.Errorf("did %+v", r)
	}
}

// Ensure that names are found without regard to case, and that nothing is added
// for a session that is not.
func TestNames(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	journaltest.Import(t, store, "date,angler,water,beat,guide\n2025-04-01,Maud P.,Tessel River,Long Glide,Orrin\n2025-04-02,MAUD  p.,tessel river,LONG GLIDE,orrin\n", sheet.Options{TimeZone: "Europe/Oslo"})
	c := journaltest.Contents(t, store)
	if len(c.Anglers) != 2 || len(c.Waters) != 1 || len(c.Waters[0].Beats) != 1 || c.Waters[0].TimeZone != "Europe/Oslo" || c.Sessions[0].TimeZone != "Europe/Oslo" {
		t.Errorf("the journal holds %+v", c)
	}
	r := journaltest.Import(t, store, "date,angler,water,beat,guide\n2025-04-01,maud p.,Tessel River,Mill Bend,Orrin\n", sheet.Options{})
	if len(r.Differ) != 1 || len(r.NewBeats) != 0 || len(journaltest.Contents(t, store).Waters[0].Beats) != 1 {
		t.Errorf("did %+v", r)
	}
}

// stintsOf imports a file into a new journal and returns its sessions with their rigs.
func stintsOf(t *testing.T, text string) ([]journal.Session, map[journal.ID]journal.Rig, *sheet.Sheet) {
	t.Helper()
	store := journaltest.Store(t)
	table := readSheet(t, text, "test.csv", sheet.Options{Units: units.Metric, TimeZone: "Europe/Oslo"})
	if _, err := table.Import(t.Context(), store, sheet.How{}); err != nil {
		t.Fatal(err)
	}
	c := journaltest.Contents(t, store)
	rigs := map[journal.ID]journal.Rig{}
	for _, r := range c.Rigs {
		rigs[r.ID] = r
	}
	return c.Sessions, rigs, table
}

// Ensure that the rows of a stint make one rig of several flies.
func TestPositions(t *testing.T) {
	t.Parallel()
	sessions, rigs, _ := stintsOf(t, "date,angler,water,stint,position,minutes,hang,junction,tag_mm,tag_end_mm,hookups,tangles,minutes_lost\n"+
		"2025-04-01,Maud,Tessel,2,1,60,,blood,150,120,1,2,7\n"+
		"2025-04-01,Maud,Tessel,2,2,60,eye,,,,0,0,\n"+
		"2025-04-01,Maud,Tessel,2,point,60,,,,,2,0,\n"+
		"2025-04-01,Maud,Tessel,2,rig,,,,,,3,1,\n"+
		"2025-04-01,Maud,Tessel,1,rig,30,,,,,0,0,\n")
	if len(sessions) != 1 || len(sessions[0].Stints) != 2 {
		t.Fatalf("made %+v", sessions)
	}
	plain, st := sessions[0].Stints[0], sessions[0].Stints[1]
	if r := rigs[plain.RigID]; *plain.Minutes != 30 || len(r.Positions) != 1 || r.Positions[0].Position != 1 {
		t.Errorf("a stint of no fly in particular has the rig %+v", r)
	}
	rig := rigs[st.RigID]
	if len(rig.Positions) != 3 || rig.Positions[0].Hang != "" || rig.Positions[1].Hang != "tag" || rig.Positions[2].Hang != "eye" {
		t.Errorf("the rig is %+v", rig)
	}
	if len(st.Positions) != 1 || *st.Positions[0].TagEndMM != 120 {
		t.Errorf("the tag's end is noted as %+v", st.Positions)
	}
	hooked := map[int]int{}
	for _, e := range st.Events {
		if e.Kind == journal.EventHookup {
			at := -1
			if e.Position != nil {
				at = *e.Position
			}
			hooked[at] += e.Count
		}
		if e.Kind == journal.EventTangle && e.Position != nil && (*e.Position != 1 || *e.MinutesLost != 7) {
			t.Errorf("a tangle is %+v", e)
		}
	}
	if hooked[1] != 1 || hooked[0] != 2 || hooked[-1] != 3 {
		t.Errorf("fish by position: %v", hooked)
	}
}

// Ensure that a row is a session by day, angler and water, told apart by label or start.
func TestGrouping(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, text string
		sessions   int
		warning    string
	}{
		{"one", "date,angler,water\n2025-04-01,Maud,Tessel\n2025-04-01,Maud,Tessel\n", 1, ""},
		{"days, anglers and waters", "date,angler,water\n2025-04-01,Maud,Tessel\n2025-04-02,Maud,Tessel\n2025-04-01,Orrin,Tessel\n2025-04-01,Maud,Mere\n", 4, ""},
		{"labels", "date,angler,water,session\n2025-04-01,Maud,Tessel,am\n2025-04-01,Maud,Tessel,pm\n2025-04-01,Maud,Tessel,am\n2025-04-02,Maud,Tessel,am\n", 3, ""},
		{"starts", "date,angler,water,start\n2025-04-01,Maud,Tessel,06:30\n2025-04-01,Maud,Tessel,\n2025-04-01,Maud,Tessel,6 pm\n2025-04-01,Maud,Tessel,6:30 am\n", 2, ""},
		{"flows that differ", "date,angler,water,flow_m3s\n2025-04-01,Maud,Tessel,10\n2025-04-01,Maud,Tessel,12\n2025-04-01,Maud,Tessel,\n", 1, "1 row differs from the first row of its session in the flow (row 3 does)"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			sessions, _, table := stintsOf(t, tt.text)
			untimed := func(w string) bool { return strings.Contains(w, "no time fished") } // which these rows don't tell
			warnings := strings.Join(slices.DeleteFunc(table.Warnings, untimed), "\n")
			if len(sessions) != tt.sessions || table.Sessions != tt.sessions || !strings.Contains(warnings, tt.warning) || tt.warning == "" && warnings != "" {
				t.Errorf("%d sessions, want %d; warnings %q", len(sessions), tt.sessions, warnings)
			}
		})
	}
}

// Ensure that times are those of the water's clocks.
func TestTimes(t *testing.T) {
	t.Parallel()
	sessions, _, _ := stintsOf(t, "date,angler,water,start,end\n2025-07-01,Maud,Tessel,20:00,00:30\n2025-01-01 06:30,Maud,Tessel,,09:00\n")
	// Oslo is an hour ahead of UTC in winter and two in summer (IANA time zone database).
	for i, want := range []string{"2025-01-01T05:30:00Z 2025-01-01T08:00:00Z", "2025-07-01T18:00:00Z 2025-07-01T22:30:00Z"} {
		if got := sessions[i].Start.Format(time.RFC3339) + " " + sessions[i].End.Format(time.RFC3339); got != want {
			t.Errorf("times %s, want %s", got, want)
		}
	}
}

// Ensure that rigs are named readably and once, and that one tied alike is used again.
func TestRigs(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	saved, err := store.SaveRig(t.Context(), journal.Rig{Name: "My old one", Positions: []journal.RigPosition{{Position: 1, Hang: "tag", Junction: "blood", TagLengthMM: new(150.0)}}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := store.SaveRig(t.Context(), journal.Rig{Name: "figure-EIGHT 165 mm, 6X, slim", Positions: []journal.RigPosition{{Position: 0}}}); err != nil {
		t.Fatal(err)
	}
	const text = "date,angler,water,rig,junction,tag_mm,tippet_x,bulk,fly\n" +
		"2025-04-01,Maud,Tessel,,blood,150,,,\n" +
		"2025-04-02,Maud,Tessel,,Fig 8,165,6X,slim,\n" +
		"2025-04-03,Maud,Tessel,,Fig 8,165,6X,slim,Spider\n" +
		"2025-04-04,Maud,Tessel,my old one,,,,,\n" +
		"2025-04-05,Maud,Tessel,Evening,ring,120,,,Spider\n" +
		"2025-04-06,Maud,Tessel,Evening,ring,130,,,Spider\n" +
		"2025-04-07,Maud,Tessel,Evening,,,,,Sedge\n"
	r := journaltest.Import(t, store, text, sheet.Options{Units: units.Metric})
	want := []string{"Evening", "Evening (revision 2)", "Figure-eight 165 mm, 6X, slim (2)"}
	if !slices.Equal(r.NewRigs, want) {
		t.Errorf("new rigs %q, want %q", r.NewRigs, want)
	}
	c := journaltest.Contents(t, store)
	stint := func(i int) journal.Stint { return c.Sessions[i].Stints[0] }
	if stint(0).RigID != saved.ID || stint(3).RigID != saved.ID {
		t.Error("a rig that was there is not used")
	}
	if stint(1).RigID != stint(2).RigID || len(stint(1).Positions) != 0 || stint(2).Positions[0].Fly != "Spider" {
		t.Errorf("another fly made another rig: %+v, %+v", stint(1), stint(2))
	}
	if stint(6).RigID != stint(5).RigID || stint(6).Positions[0].Fly != "Sedge" || len(stint(5).Positions) != 0 {
		t.Errorf("a rig named without being told of is not the last of that name: %+v", stint(6))
	}
	if again := journaltest.Import(t, store, text, sheet.Options{Units: units.Metric}); again.Added+len(again.Differ)+len(again.NewRigs) != 0 {
		t.Errorf("a second import did %+v", again)
	}
}

// Ensure that the report tells how every column was understood.
func TestReport(t *testing.T) {
	t.Parallel()
	s := readSheet(t, "Season 2025,,,\nDatum (TT.MM.JJJJ),Who,River,Tag,Weather,Flies,Knot\n7.4.2025,Maud,Tessel,6 1/2 in,rain,slim,Ångström\nSumme,,,,,,\n31.2.2025,Maud,Tessel,7,sun,slim,blood\n", "book.csv", sheet.Options{Units: units.US})
	var b strings.Builder
	if err := s.Report(&b, 0); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Datum (TT.MM.JJJJ)", "the tag length as tied", "in unless a cell names another", "6 1/2 in | 7", "read as the bulk of the fly", "day first, as the header",
		"Columns not understood, and ignored: Weather.", "“Ångström”", "Skipped 1 row, above the header (row 1).", `Skipped 1 row, a total ("Summe") (row 4).`,
		"row 5, Datum (TT.MM.JJJJ): “31.2.2025” is not a day of the calendar", "dropper 1"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the report does not say %q:\n%s", want, b.String())
		}
	}
}

// Ensure that rejected rows can be read again, whatever their cells hold.
func TestRejectsComeBack(t *testing.T) {
	t.Parallel()
	const text = "date;angler;water;minutes;notes;boat\n2025-02-31;Maud;Tessel;60;\"a;b\";x\n2025-02-28;Maud;Tessel;60;;\n2025-02-28;Maud;Tessel;60;fine;x;over\n"
	s := readSheet(t, text, "book.csv", sheet.Options{})
	var b strings.Builder
	if err := s.WriteRejects(&b); err != nil {
		t.Fatal(err)
	}
	again := readSheet(t, b.String(), "rejects.csv", sheet.Options{})
	if again.Rows != 2 || again.BadRows() != 2 || again.Columns[6].Field != "problem" {
		t.Errorf("%d rows, %d bad:\n%s", again.Rows, again.BadRows(), b.String())
	}
	var twice strings.Builder
	if err := again.WriteRejects(&twice); err != nil {
		t.Fatal(err)
	}
	if strings.Count(twice.String(), "problem") != 1 {
		t.Errorf("the column problem comes again:\n%s", twice.String())
	}
}
