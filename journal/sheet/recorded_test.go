package sheet_test

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

// words joins the words of kinds.
func words(kinds []journal.Kind) string {
	var list []string
	for _, k := range kinds {
		list = append(list, k.String())
	}
	return strings.Join(list, " ")
}

// Ensure that a file without a column of tangles has none recorded. What it must
// hold is stated with the sample: 20 stints, 2400 minutes and 36 hookups.
func TestNoTanglesColumn(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	r := journaltest.Import(t, store, string(sample(t, "no-tangles-column.csv")), sheet.Options{})
	minutes, hookups := 0.0, 0
	for _, s := range journaltest.Contents(t, store).Sessions {
		for _, st := range s.Stints {
			minutes += *st.Minutes
			if got := words(st.Recorded.Kinds()); got != "hookups landed" {
				t.Errorf("on %s count was kept of %s", s.Day, got)
			}
			for _, e := range st.Events {
				hookups += e.Count
				if e.Kind != journal.EventHookup || e.Hooking != "" {
					t.Errorf("on %s there is a %s %s", s.Day, e.Hooking, e.Kind)
				}
			}
		}
	}
	if r.Stints != 20 || minutes != 2400 || hookups != 36 {
		t.Errorf("%d stints, %g minutes, %d hookups", r.Stints, minutes, hookups)
	}
}

// Ensure that start and end give the minutes: 24 stints, 3255 minutes and 16
// tangles, as is stated with the sample.
func TestTimesNotMinutes(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	text := string(sample(t, "times-not-minutes.csv"))
	r := journaltest.Import(t, store, text, sheet.Options{Units: units.US})
	minutes, tangles := 0.0, 0
	for _, s := range journaltest.Contents(t, store).Sessions {
		for _, st := range s.Stints {
			minutes += *st.Minutes
			for _, e := range st.Events {
				tangles += e.Count
			}
		}
	}
	if r.Stints != 24 || minutes != 3255 || tangles != 16 {
		t.Errorf("%d stints, %g minutes, %d tangles", r.Stints, minutes, tangles)
	}
	if again := journaltest.Import(t, store, text, sheet.Options{Units: units.US}); again.Added != 0 || again.AlreadyThere != r.Added {
		t.Errorf("a second import did %+v", again)
	}
}

// one reads a file of a session each row and returns its stints, which are good.
func one(t *testing.T, text string, opt sheet.Options) ([]journal.Stint, *sheet.Sheet) {
	t.Helper()
	store := journaltest.Store(t)
	if opt.Units == "" {
		opt.Units = units.Metric
	}
	opt.TimeZone = "Europe/Oslo"
	table := readSheet(t, text, "test.csv", opt)
	if _, err := table.Import(t.Context(), store, sheet.How{}); err != nil {
		t.Fatal(err)
	}
	var stints []journal.Stint
	for _, s := range journaltest.Contents(t, store).Sessions {
		stints = append(stints, s.Stints...)
	}
	return stints, table
}

// Ensure that what a blank means follows from what else the column writes, that
// words for none are zero and others are not recorded, and that the reading is told.
func TestBlanks(t *testing.T) {
	t.Parallel()
	for name, test := range map[string]struct {
		column, cells string // a cell for each stint
		kept          string // a mark for each stint: y or n
		says          string
		blanks        []sheet.BlankRule
	}{
		"zeros are written":     {"Tangles", "2||0|", "ynyn", "Tangles: 2 blanks are read as not recorded, since zeros are written here", nil},
		"a dash is a zero":      {"Tangles", "2||-|1", "ynyy", "1 blank is read as not recorded", nil},
		"no zero ever":          {"Tangles", "2|||1", "yyyy", `2 blanks are read as zero, since no zero is ever written here; --blank "Tangles=unknown"`, nil},
		"every row":             {"Tangles", "2|0|1|0", "yyyy", "Tangles: recorded in every row", nil},
		"no value":              {"Tangles", "|||", "nnnn", "Tangles: no count in any row, so not recorded", nil},
		"words for none":        {"Tangles", "none|–|Keine|nil", "yyyy", "recorded in every row", nil},
		"more words for none":   {"Snags", "no|—|aucun|ingen", "yyyy", "recorded in every row", nil},
		"words for no count":    {"Tangles", "?|n/a|not counted|3", "nnny", "3 cells say not counted", nil},
		"foreign ones":          {"Tangles", "unbekannt|k.A.|NaN|0", "nnny", "3 cells say not counted", nil},
		"a blank and a word":    {"Tangles", "?||3|", "nyyy", "2 blanks are read as zero", nil},
		"only words":            {"Tangles", "?|?|?|", "nnnn", "no count in any row", nil},
		"overridden":            {"Tangles", "2|||1", "ynny", "2 blanks are read as not recorded, as asked for", []sheet.BlankRule{{Header: "tangles", Is: sheet.BlankUnknown}}},
		"overridden to zero":    {"Tangles", "2||0|", "yyyy", "2 blanks are read as zero, as asked for", []sheet.BlankRule{{Header: "Tangles", Is: sheet.BlankZero}}},
		"turns are never zero":  {"Turns", "2||1|", "ynyn", "Turns: 2 blanks are read as not recorded.", nil},
		"nor minutes lost":      {"Minutes lost", "2||5|", "ynyn", "Minutes lost: 2 blanks are read as not recorded.", nil},
		"unless it is asked so": {"Minutes lost", "2||5|", "yyyy", "as asked for", []sheet.BlankRule{{Header: "Minutes lost", Is: sheet.BlankZero}}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			text := "date,angler,water,minutes," + test.column + "\n"
			for i, cell := range strings.Split(test.cells, "|") {
				text += time.Date(2025, 4, 1+i, 0, 0, 0, 0, time.UTC).Format(time.DateOnly) + ",Maud,Tessel,60," + cell + "\n"
			}
			text += "TOTAL,,,240,0\n" // which has no say
			stints, table := one(t, text, sheet.Options{Blanks: test.blanks})
			kind := map[string]journal.Kind{"Tangles": journal.KindTangles, "Snags": journal.KindSnags, "Turns": journal.KindTurns, "Minutes lost": journal.KindMinutesLost}[test.column]
			kept := ""
			for _, st := range stints {
				if st.Recorded.Assumed() {
					t.Error("nothing was said of what was recorded")
				}
				kept += map[bool]string{true: "y", false: "n"}[st.Recorded.Has(kind)]
			}
			if kept != test.kept {
				t.Errorf("kept in %s, want %s", kept, test.kept)
			}
			var report strings.Builder
			if err := table.Report(&report, 0); err != nil || !strings.Contains(report.String(), test.says) {
				t.Errorf("the report lacks %q (%v):\n%s", test.says, err, report.String())
			}
		})
	}
}

func TestParseBlankRule(t *testing.T) {
	t.Parallel()
	if r, err := sheet.ParseBlankRule(" Rig = 1 tangles = Unknown "); err != nil || r != (sheet.BlankRule{Header: "Rig = 1 tangles", Is: sheet.BlankUnknown}) {
		t.Errorf("read %+v, %v", r, err)
	}
	for _, bad := range []string{"", "Tangles", "=zero", "Tangles=maybe"} {
		if r, err := sheet.ParseBlankRule(bad); err == nil {
			t.Errorf("%q was read as %+v", bad, r)
		}
	}
	_, err := sheet.Read(t.Context(), strings.NewReader("date,angler,water,Tangles\n2025-04-01,a,b,1\n"), "x", sheet.Options{Blanks: []sheet.BlankRule{{Header: "water", Is: sheet.BlankZero}}})
	if err == nil || !strings.Contains(err.Error(), `no column of counts is called "water"; name one of: Tangles`) {
		t.Errorf("a rule for no column gave %v", err)
	}
}

// Ensure that each column makes its own kind recorded, and none another's.
func TestKindsOfColumns(t *testing.T) {
	t.Parallel()
	for columns, want := range map[string]string{
		"hookups": "hookups", "foul_hookups": "hooking", "landed": "landed", "lost": "lost", "broke_off": "broke-off", "junction_breaks": "break-place",
		"snags": "snags", "tangles": "tangles", "twists": "tangle-kind", "wind_knots": "", "turns": "turns", "checks": "", "fly_changes": "", "reties": "",
		"fly_changes,reties": "changes", "minutes_lost": "minutes-lost", "notes": "",
	} {
		text := "date,angler,water," + columns + "\n2025-04-01,Maud,Tessel" + strings.Repeat(",0", 1+strings.Count(columns, ",")) + "\n"
		stints, _ := one(t, text, sheet.Options{})
		if got := words(stints[0].Recorded.Kinds()); got != want {
			t.Errorf("%s make %q recorded, want %q", columns, got, want)
		}
	}
}

// Ensure that a kind is recorded for a stint only if it is for every row that it
// concerns: tangles are no matter of the point fly.
func TestRecordedInEveryRow(t *testing.T) {
	t.Parallel()
	const head = "date,angler,water,stint,position,hookups,tangles\n2025-03-01,Maud,Tessel,1,1,0,0\n"
	for rows, want := range map[string]string{
		"1,1,2":          "hookups tangles",
		"1,1,2|point,2,": "hookups tangles",
		"1,1,2|point,,":  "tangles",
		"1,1,|point,2,1": "hookups",
		"1,1,2|2,0,":     "hookups",
		"1,1,2|rig,,":    "hookups tangles",
		"1,1,2|rig,,?":   "hookups",
		"rig,,2":         "tangles",
	} {
		text := head
		for row := range strings.SplitSeq(rows, "|") {
			text += "2025-04-01,Maud,Tessel,1," + row + "\n"
		}
		stints, _ := one(t, text, sheet.Options{})
		if got := words(stints[1].Recorded.Kinds()); got != want {
			t.Errorf("%s: recorded %q, want %q", rows, got, want)
		}
	}
}

// Ensure that fish are taken to be fairly hooked only where foul ones were told apart.
func TestHookingNotTold(t *testing.T) {
	t.Parallel()
	stints, _ := one(t, "date,angler,water,hookups,lost,foul\n2025-04-01,Maud,Tessel,3,1,1\n2025-04-02,Maud,Tessel,2,1,?\n2025-04-03,Maud,Tessel,2,0,\n", sheet.Options{})
	var got []string
	for _, st := range stints {
		var hookings []string
		for _, e := range st.Events {
			hookings = append(hookings, "<"+string(e.Hooking)+">")
		}
		slices.Sort(hookings)
		got = append(got, strings.Join(slices.Compact(hookings), ""))
	}
	if want := []string{"<fair><foul>", "<>", "<fair>"}; !slices.Equal(got, want) {
		t.Errorf("hooked %q, want %q", got, want)
	}
}

// Ensure that checks whose turns were not counted are no event, and stand as not recorded.
func TestTurnsNotCounted(t *testing.T) {
	t.Parallel()
	stints, _ := one(t, "date,angler,water,checks,turns\n2025-04-01,Maud,Tessel,3,?\n2025-04-02,Maud,Tessel,0,\n2025-04-03,Maud,Tessel,2,5\n", sheet.Options{})
	for i, want := range []struct{ kept, events bool }{{false, false}, {true, false}, {true, true}} {
		if st := stints[i]; st.Recorded.Has(journal.KindTurns) != want.kept || len(st.Events) > 0 != want.events {
			t.Errorf("stint %d: recorded %v with %d events", i+1, st.Recorded.Has(journal.KindTurns), len(st.Events))
		}
	}
}

// Ensure that times are kept to the second however they are written, and come from
// the clock, breaks taken off, where none are noted.
func TestTimeFished(t *testing.T) {
	t.Parallel()
	for cells, want := range map[string]float64{
		"7.5,,,":           7.5,
		"\"7,5\",,,":       7.5,
		"0:07:30,,,":       7.5,
		"7 min 20 s,,,":    0,
		",07:00,08:30,":    90,
		",07:00,08:30,15":  75,
		",7:00:00,7:20:15": 20.25,
		",22:00,02:30,":    270,
		"60,07:00,08:30,":  60,
		"60,07:00,08:30,5": 60,
	} {
		text := "date,angler,water,minutes,start,end,break minutes\n2025-04-01,Maud,Tessel," + cells + "\n2025-04-02,Maud,Tessel,90,,,\n"
		table := readSheet(t, text, "test.csv", sheet.Options{Units: units.US})
		if want == 0 {
			if len(table.Bad) != 1 {
				t.Errorf("%s: %v", cells, table.Bad)
			}
			continue
		}
		stints, table := one(t, text, sheet.Options{})
		if stints[0].Minutes == nil || math.Abs(*stints[0].Minutes-want) > 1e-9 {
			t.Errorf("%s makes %v minutes, want %g", cells, stints[0].Minutes, want)
		}
		night := slices.ContainsFunc(table.Warnings, func(w string) bool {
			return strings.Contains(w, "row 2 read as ending the next day: 4 h 30 min")
		})
		if night != strings.Contains(cells, "22:00") {
			t.Errorf("%s: warned %q", cells, table.Warnings)
		}
	}
}

// Ensure that times of several stints are theirs only where they follow each other.
func TestTimesOfSeveralStints(t *testing.T) {
	t.Parallel()
	const head = "date,angler,water,session,start,end,tangles\n"
	row := "2025-04-01,Maud,Tessel,day,"
	stints, _ := one(t, head+row+"07:00,08:30,1\n"+row+"09:00,11:00,0\n", sheet.Options{})
	if len(stints) != 2 || *stints[0].Minutes != 90 || *stints[1].Minutes != 120 {
		t.Errorf("one after the other: %+v", stints)
	}
	stints, table := one(t, head+row+"07:00,11:00,1\n"+row+"07:00,11:00,0\n", sheet.Options{})
	if len(stints) != 2 || stints[0].Minutes != nil || stints[1].Minutes != nil ||
		!slices.ContainsFunc(table.Warnings, func(w string) bool {
			return strings.Contains(w, "2 stints have no minutes noted, and none from start and end")
		}) {
		t.Errorf("of both: %+v, %q", stints, table.Warnings)
	}
}

// Ensure that an end before its start is refused by its cell beyond 14 h.
func TestEndBeforeStart(t *testing.T) {
	t.Parallel()
	for cells, column := range map[string]string{"19:00,09:30,": "end", "07:00,07:00,": "end", "07:00,08:00,70": "pause (min)"} {
		table := readSheet(t, "date,angler,water,start,end,pause (min)\n2025-04-01,Maud,Tessel,"+cells+"\n", "test.csv", sheet.Options{})
		if len(table.Bad) != 1 || table.Bad[0].Column != column || table.Bad[0].Remedy == "" {
			t.Errorf("%s: %v", cells, table.Bad)
		}
	}
}

// Ensure that what is likelier a slip is refused by its cell, and taken and told when asked to.
func TestDoubtfulRows(t *testing.T) {
	t.Parallel()
	now := func() time.Time { return time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC) }
	for name, test := range map[string]struct{ row, column, problem string }{
		"a long tag":          {"2025-04-01,Maud,Tessel,60,,,65,,,0", "tag_cm", "the tag of dropper 1 is 65 cm (25.6 in) as tied"},
		"a long tag at first": {"2025-04-01,Maud,Tessel,60,,,15,70,,0", "tag_start_cm", "at the start of stint 1"},
		"a long tag at last":  {"2025-04-01,Maud,Tessel,60,,,15,,61,0", "tag_end_cm", "at the end of stint 1"},
		"many tangles":        {"2025-04-01,Maud,Tessel,15,,,15,,,6", "tangles", "6 tangles in 15 min, which is 24 an hour"},
		"two minutes":         {"2025-04-01,Maud,Tessel,2,,,15,,,0", "minutes", "less than 3 minutes"},
		"two by the clock":    {"2025-04-01,Maud,Tessel,,07:00,07:02,15,,,0", "end", "less than 3 minutes"},
		"long ago":            {"1925-04-01,Maud,Tessel,60,,,15,,,0", "date", "before 1990"},
		"not yet":             {"2026-06-03,Maud,Tessel,60,,,15,,,0", "date", "has not come yet"},
	} {
		text := "date,angler,water,minutes,start,end,tag_cm,tag_start_cm,tag_end_cm,tangles\n2025-05-01,Maud,Tessel,60,,,15,,,1\n" + test.row + "\n"
		table := readSheet(t, text, "test.csv", sheet.Options{Now: now})
		if len(table.Bad) != 1 || table.BadRows() != 1 {
			t.Errorf("%s: %v", name, table.Bad)
			continue
		}
		if b := table.Bad[0]; b.Row != 3 || b.Column != test.column || !strings.Contains(b.Problem, test.problem) || !strings.Contains(b.Remedy, "--accept") {
			t.Errorf("%s: %v", name, b)
		}
		table = readSheet(t, text, "test.csv", sheet.Options{Now: now, Accept: true})
		var report strings.Builder
		if err := table.Report(&report, 0); err != nil || len(table.Bad) > 0 || table.Sessions != 2 {
			t.Errorf("%s: accepted, %v, %v", name, table.Bad, err)
		}
		if want := "Accepted as it is: row 3, " + test.column + ": "; !strings.Contains(report.String(), want) || !strings.Contains(report.String(), test.problem) {
			t.Errorf("%s: the report lacks %q:\n%s", name, want, report.String())
		}
	}
}

// Ensure that a journal's own flat CSV loses nothing by way of a spreadsheet that
// knows no kinds: a count not kept is blank there, and what happened all the same stands apart.
func TestOwnCSVTellsZeroFromNotRecorded(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	journaltest.Import(t, store, "date,angler,water,minutes,junction,hookups\n2025-04-01,Maud,Tessel,60,blood,2\n", sheet.Options{})
	s := journaltest.Contents(t, store).Sessions[0]
	s.Stints[0].Events = append(s.Stints[0].Events, journal.Event{Kind: journal.EventTangle, Count: 1, TangleKind: journal.Twist}) // it was noted, though none were counted
	if _, err := store.SaveSession(t.Context(), s); err != nil {
		t.Fatal(err)
	}
	text := writeCSV(t, store)
	head, row, _ := strings.Cut(strings.TrimSpace(text), "\n")
	cells := map[string]string{}
	for i, h := range strings.Split(head, ",") {
		cells[h] = strings.Split(row, ",")[i]
	}
	for column, want := range map[string]string{"hookups": "2", "fair_hookups": "2", "foul_hookups": "", "tangles": "", "twists": "", "snags": "", "junction_loads": "",
		"counts_kept": "noted", "uncounted": "untold_hookups 2; tangles 1; twists 1; untimed_tangles 1"} {
		if cells[column] != want {
			t.Errorf("%s is %q, want %q", column, cells[column], want)
		}
	}
	other := journaltest.Store(t)
	journaltest.Import(t, other, text, sheet.Options{})
	if again := writeCSV(t, other); again != text {
		t.Error(journaltest.FirstDifference(text, again))
	}
	st := journaltest.Contents(t, other).Sessions[0].Stints[0]
	if words(st.Recorded.Kinds()) != "hookups" || len(st.Events) != 2 {
		t.Errorf("became %+v", st)
	}
}

// Ensure that a blank is never zero in a journal's own flat CSV, whatever its column writes elsewhere.
func TestOwnCSVBlankIsNeverZero(t *testing.T) {
	t.Parallel()
	store := journaltest.Store(t)
	journaltest.Import(t, store, "date,angler,water,minutes,junction,tangles,snags\n2025-04-01,Maud,Tessel,60,blood,2,1\n2025-04-02,Maud,Tessel,60,blood,3,1\n", sheet.Options{})
	lines := strings.Split(strings.TrimSpace(writeCSV(t, store)), "\n")
	at := slices.Index(strings.Split(lines[0], ","), "tangles")
	cells := strings.Split(lines[1], ",")
	cells[at] = ""
	lines[1] = strings.Join(cells, ",")
	stints, _ := one(t, strings.Join(lines, "\n"), sheet.Options{})
	if got := words(stints[0].Recorded.Kinds()) + ", " + words(stints[1].Recorded.Kinds()); got != "snags, snags tangles" {
		t.Errorf("recorded %s", got)
	}
}

// Ensure that a flat CSV from before it said of what count was kept adds nothing to
// the journal that it was written from, and makes stints that are assumed.
func TestOwnCSVFromBefore(t *testing.T) {
	t.Parallel()
	read := func(name string) string {
		b, err := os.ReadFile(filepath.Join("..", "..", "testdata", "backups", name))
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	text := read("stints-version-1.csv")
	store := journaltest.Store(t)
	held, err := exchange.ReadBackup(t.Context(), store, strings.NewReader(read("journal-version-1.jsonl")), nil)
	if err != nil {
		t.Fatal(err)
	}
	if r := journaltest.Import(t, store, text, sheet.Options{}); r.Added+r.Extended+len(r.Differ) != 0 || r.AlreadyThere != held.Added {
		t.Errorf("importing it again did %+v", r)
	}
	stints, table := one(t, text, sheet.Options{})
	for _, st := range stints {
		if !st.Recorded.Assumed() {
			t.Errorf("a stint says that count was kept of %s", words(st.Recorded.Kinds()))
		}
	}
	if len(stints) == 0 || !slices.ContainsFunc(table.Choices, func(s string) bool { return strings.Contains(s, "everything is assumed") }) {
		t.Errorf("%d stints, told %q", len(stints), table.Choices)
	}
}
