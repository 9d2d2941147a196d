package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

func sampleFile(name string) string { return filepath.Join("..", "..", "testdata", "samples", name) }

// sampleTotals adds up the guide book by encoding/csv alone: its rows with a
// date, and their tangles, a dash being none.
func sampleTotals(t *testing.T) (stints, tangles int) {
	t.Helper()
	raw, err := os.ReadFile(sampleFile("guide-book-2025.csv"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(raw, []byte("\xef\xbb\xbf")))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		if row[0] == "" {
			continue // blank, or the row of totals
		}
		stints++
		n, _ := strconv.Atoi(row[17]) // "-" is none
		tangles += n
	}
	return stints, tangles
}

// Ensure that the way from a spreadsheet to an answer works as a person walks
// it, in processes of their own with a private PostgreSQL.
func TestSpreadsheetToAnswer(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	file, err := filepath.Abs(sampleFile("guide-book-2025.csv"))
	if err != nil {
		t.Fatal(err)
	}
	if out := outputOf(t, dir, "import", file); !strings.Contains(out, "Added 95 sessions with 119 stints") {
		t.Errorf("the import says\n%s", out)
	}
	var answer struct {
		Groups []struct {
			Level  map[string]any
			Stints int
			Events float64
		}
	}
	if err := json.Unmarshal([]byte(outputOf(t, dir, "rates", "tangles", "--by", "junction", "--format", "json")), &answer); err != nil {
		t.Fatal(err)
	}
	stints, tangles := 0, 0.0
	for _, g := range answer.Groups {
		stints += g.Stints
		tangles += g.Events
	}
	wantStints, wantTangles := sampleTotals(t)
	if stints != wantStints || tangles != float64(wantTangles) {
		t.Errorf("answered with %d stints and %g tangles, want %d and %d", stints, tangles, wantStints, wantTangles)
	}
	rows, err := csv.NewReader(strings.NewReader(outputOf(t, dir, "rates", "tangles", "--by", "tag-length", "--format", "csv"))).ReadAll()
	if err != nil || len(rows) < 3 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, row := range rows[1:] {
		// Every tag in the file is a whole or half number of inches of 25.4 mm (NIST SP 811).
		mm, err := strconv.ParseFloat(row[0], 64)
		halves := mm / 12.7
		const tol = 1e-9
		if err != nil || halves-float64(int(halves+0.5)) > tol || float64(int(halves+0.5))-halves > tol {
			t.Errorf("the tag length %s is no number of half inches in mm", row[0])
		}
	}
	if left := serversIn(t, dir); len(left) > 0 {
		t.Errorf("left running: %v", left)
	}
}

// Ensure that a file with bad rows is refused with each of them, that --check
// and the refusal write nothing, and that --rejects keeps exactly those rows.
func TestImportBadRows(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	file := sampleFile("metric-notebook.csv")
	rejects := filepath.Join(t.TempDir(), "bad.csv")

	got := runIn(t, url, "import", file)
	for _, want := range []string{"3 of 77 rows", "“-30”", "“31.02.2025”", "--rejects"} {
		if got.status != 1 || !strings.Contains(got.errors, want) {
			t.Errorf("status %d; want %q in\n%s", got.status, want, got.errors)
		}
	}
	if got := runIn(t, url, "import", "--check", file); got.status != 1 || !strings.Contains(got.out, "tag length as tied") || !strings.Contains(got.out, "“-30”") {
		t.Errorf("--check: status %d\n%s%s", got.status, got.out, got.errors)
	}
	nothingIn(t, url)

	if out := mustRun(t, url, "import", file, "--rejects", rejects); !strings.Contains(out, "3 bad rows were kept out") {
		t.Errorf("--rejects says\n%s", out)
	}
	kept, err := os.ReadFile(rejects)
	if err != nil || strings.Count(string(kept), "\n") != 4 {
		t.Errorf("kept %q, %v; want a header and three rows", kept, err)
	}
	if n := len(contentsOf(t, url).Sessions); n == 0 {
		t.Error("the good rows are not in the journal")
	}
	if got := runIn(t, pgtest.NewDatabase(t), "import", file, "--rejects", rejects); got.status != 1 || !strings.Contains(got.errors, "exists and is left as it is") {
		t.Errorf("an existing file of rejects: status %d, %s", got.status, got.errors)
	}
}

// Ensure that several files go in one after the other, each whole, and that the
// first that fails ends it.
func TestImportSeveralFiles(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	got := runIn(t, url, "import", sampleFile("guide-book-2025.csv"), sampleFile("metric-notebook.csv"))
	if got.status != 1 || !strings.Contains(got.out, "Added 95 sessions") || !strings.Contains(got.errors, "metric-notebook.csv: 3 of 77") {
		t.Errorf("status %d\n%s%s", got.status, got.out, got.errors)
	}
	if n := len(contentsOf(t, url).Sessions); n != 95 {
		t.Errorf("%d sessions, want those of the first file", n)
	}
}

// Ensure that a journal that began with a spreadsheet in inches shows inches,
// and that a later one in centimetres does not change that.
func TestImportUnits(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	if out := mustRun(t, url, "import", sampleFile("guide-book-2025.csv")); !strings.Contains(out, "shows US units from now on") {
		t.Errorf("the first import says\n%s", out)
	}
	if out := mustRun(t, url, "import", sampleFile("metric-notebook.csv"), "--rejects", filepath.Join(t.TempDir(), "bad.csv")); strings.Contains(out, "from now on") {
		t.Errorf("the second import says\n%s", out)
	}
	if out := mustRun(t, url, "rates", "tangles", "--by", "tag-length"); !strings.Contains(out, "6½ in") {
		t.Errorf("the answer is not in inches:\n%s", out)
	}
	if out := mustRun(t, url, "rates", "tangles", "--by", "tag-length", "--units", "metric"); !strings.Contains(out, "165.1 mm") {
		t.Errorf("the answer is not in mm:\n%s", out)
	}
}

// Ensure that a backup into an empty journal gives the same journal, byte for
// byte on a second export, and that an existing file is not replaced unasked.
func TestExportImport(t *testing.T) {
	t.Parallel()
	first, second := pgtest.NewDatabase(t), pgtest.NewDatabase(t)
	mustRun(t, first, "import", sampleFile("guide-book-2025.csv"))
	file := filepath.Join(t.TempDir(), "journal.jsonl")
	mustRun(t, first, "export", "--to", file)
	mustRun(t, second, "import", file)
	backup, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if again := mustRun(t, second, "export", "--to", "-", "--format", "jsonl"); again != string(backup) {
		t.Error("the second backup differs from the first")
	}
	if out := mustRun(t, second, "import", file); !strings.Contains(out, "95 sessions were already there") {
		t.Errorf("a second import says\n%s", out)
	}
	if got := runIn(t, first, "export", "--to", file); got.status != 1 || !strings.Contains(got.errors, "--force") {
		t.Errorf("over an existing file: status %d, %s", got.status, got.errors)
	}
	mustRun(t, first, "export", "--to", file, "--force")
	stints := mustRun(t, first, "export", "--to", "-", "--format", "csv")
	if n := strings.Count(stints, "\n"); n != 120 {
		t.Errorf("the CSV has %d lines, want a header and 119 stints", n)
	}
	entries, err := os.ReadDir(filepath.Dir(file))
	if err != nil || len(entries) != 1 {
		t.Errorf("%d files are left, want one (%v)", len(entries), err)
	}
}

// Ensure that --blank and --accept reach the import, and that what they did is told.
func TestImportBlanksAndDoubts(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	file := filepath.Join(t.TempDir(), "log.csv")
	const text = "date,angler,water,minutes,junction,tag_cm,Tangles\n2025-04-01,Maud,Tessel,60,blood,70,2\n2025-04-02,Maud,Tessel,60,blood,15,\n"
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if got := runIn(t, url, "import", file); got.status != 1 || !strings.Contains(got.errors, "row 2, tag_cm: “70” looks like a slip: the tag of dropper 1 is 70 cm (27.6 in) as tied, which is over 60 cm; correct it, or say --accept if it is right") {
		t.Errorf("status %d, %s", got.status, got.errors)
	}
	nothingIn(t, url)
	if out := mustRun(t, url, "import", "--check", "--accept", file); !strings.Contains(out, "Tangles: 1 blank is read as zero") {
		t.Errorf("--check says\n%s", out)
	}
	out := mustRun(t, url, "import", "--accept", "--blank", "Tangles=unknown", file)
	for _, want := range []string{"Tangles: 1 blank is read as not recorded, as asked for", "Accepted as it is: row 2", "1 doubtful cell was taken as asked for"} {
		if !strings.Contains(out, want) {
			t.Errorf("the import lacks %q:\n%s", want, out)
		}
	}
	var kept []bool
	for _, s := range contentsOf(t, url).Sessions {
		kept = append(kept, s.Stints[0].Recorded.Has(journal.KindTangles))
	}
	if !slices.Equal(kept, []bool{true, false}) {
		t.Errorf("tangles are recorded in %v", kept)
	}
}

// Ensure that wrong use of import and export is told and writes nothing.
func TestExchangeErrors(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	dir := t.TempDir()
	for _, c := range []struct {
		name   string
		args   []string
		status int
		want   string
	}{
		{"no file", []string{"import"}, 2, "the file is missing"},
		{"file not there", []string{"import", filepath.Join(dir, "season.csv")}, 1, "check its name"},
		{"folder", []string{"import", dir}, 1, "directory"},
		{"unknown order of dates", []string{"import", "-", "--dates", "month"}, 2, "write auto, day-first, month-first or year-first"},
		{"unknown decimal sign", []string{"import", "-", "--decimal", "dot"}, 2, "write point or comma"},
		{"unknown zone", []string{"import", "-", "--time-zone", "Mountain"}, 2, "America/Denver"},
		{"a blank of no column", []string{"import", "-", "--blank", "Tangles"}, 2, "write its header and what its blanks mean"},
		{"an unknown blank", []string{"import", "-", "--blank", "Tangles=none"}, 2, "write zero or unknown"},
		{"rejects of two files", []string{"import", "a.csv", "b.csv", "--rejects", "bad.csv"}, 2, "one by one"},
		{"rejects of a check", []string{"import", "a.csv", "--check", "--rejects", "bad.csv"}, 2, "leave one out"},
		{"empty file", []string{"import", "-"}, 1, "standard input: the file is empty"},
		{"no target", []string{"export"}, 2, "--to is missing"},
		{"unknown ending", []string{"export", "--to", filepath.Join(dir, "stints.xls")}, 2, "end it in .csv or .jsonl"},
		{"unknown form", []string{"export", "--to", "-", "--format", "xml"}, 2, "write csv or jsonl"},
		{"folder not there", []string{"export", "--to", filepath.Join(dir, "nowhere", "stints.csv")}, 1, "choose another folder"},
		{"folder for a file", []string{"export", "--to", dir, "--format", "csv"}, 1, "is a folder; name a file in it"},
	} {
		got := runIn(t, url, c.args...)
		if got.status != c.status || !strings.Contains(got.errors, c.want) {
			t.Errorf("%s: status %d, want %d; want %q in\n%s", c.name, got.status, c.status, c.want, got.errors)
		}
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) > 0 {
		t.Errorf("%d files were written (%v)", len(entries), err)
	}
	nothingIn(t, url)
}
