package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/exchange"
)

// sheetFile writes a spreadsheet to a file.
func sheetFile(t *testing.T, text string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "season.csv")
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// wantAll reports what a text lacks.
func wantAll(t *testing.T, text string, parts ...string) {
	t.Helper()
	for _, part := range parts {
		if !strings.Contains(text, part) {
			t.Errorf("%q is missing in\n%s", part, text)
		}
	}
}

const firstSeason = "date,angler,water,minutes,tangles\n2025-04-01,J. Felt,Tessel River,60,2\n2025-04-02,Maud Perrin,Tessel River,90,1\n"

// Ensure that a misspelt angler is refused with the flags that say who is meant, and that each does.
func TestImportMisspelt(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "import", sheetFile(t, firstSeason))
	file := sheetFile(t, "date,angler,water,minutes,tangles\n2025-05-01,Jon Felt,Tessel,60,2\n2025-05-02,Orrin,Tessel,60,0\n")
	got := runIn(t, url, "import", file)
	if got.status != 1 || got.out != "" && strings.Contains(got.out, "Added") {
		t.Errorf("status %d\n%s", got.status, got.out)
	}
	wantAll(t, got.errors, `angler Jon Felt (1 row, from row 2 on); did you mean J. Felt, which is in the journal?`, `--same "Jon Felt=J. Felt"`, `--new "Jon Felt"`,
		`--same "Tessel=Tessel River"`)
	if n := len(contentsOf(t, url).Sessions); n != 2 {
		t.Errorf("%d sessions after a refusal", n)
	}
	wantAll(t, mustRun(t, url, "import", file, "--same", "Jon Felt=J. Felt", "--same", "Tessel=Tessel River"), "Added 2 sessions", "1 angler is new to the journal: Orrin.", "To take it back: rigtally undo")
	if c := contentsOf(t, url); len(c.Anglers) != 3 || len(c.Waters) != 1 {
		t.Errorf("holds %+v %+v", c.Anglers, c.Waters)
	}
	// The same in another sheet, where they are two.
	wantAll(t, mustRun(t, url, "import", sheetFile(t, "date,angler,water,minutes\n2025-06-01,Jon Felt,Tessel River,60\n"), "--new", "Jon Felt"), "1 angler is new to the journal: Jon Felt.")
	for _, wrong := range [][]string{{"--same", "Jon"}, {"--new", " "}, {"--column", "Jon"}, {"--ranges", "upper"}} {
		if got := runIn(t, url, append([]string{"import", file}, wrong...)...); got.status != 2 {
			t.Errorf("%v: status %d, %s", wrong, got.status, got.errors)
		}
	}
}

// Ensure that what was corrected in a sheet is listed without --update, and shown and taken with it.
func TestImportUpdate(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "import", sheetFile(t, firstSeason))
	corrected := sheetFile(t, strings.Replace(firstSeason, "60,2", "75,3", 1))
	wantAll(t, mustRun(t, url, "import", corrected), "1 session is in the journal with other content and left as it is", "2025-04-01, J. Felt on Tessel River (row 2)", "--update")
	wantAll(t, mustRun(t, url, "import", corrected, "--update"), "Corrected in the sheet since it was imported:", "stint 1, the time fished: 1 h → 1 h 15 min", "stint 1, tangles: 2 → 3", "1 session was updated.")
	if c := contentsOf(t, url); *c.Sessions[0].Stints[0].Minutes != 75 || c.Sessions[0].Version != 2 {
		t.Errorf("holds %+v", c.Sessions[0])
	}
	wantAll(t, mustRun(t, url, "import", corrected, "--update"), "Added 0 sessions", "2 sessions were already there")

	mustRun(t, url, "undo", "--yes")
	c := contentsOf(t, url)
	if len(c.Sessions) != 2 || *c.Sessions[0].Stints[0].Minutes != 60 {
		t.Fatalf("taken back, the update left %+v", c.Sessions[0])
	}
	// What was edited in the journal meanwhile is a conflict, and stays.
	mustRun(t, url, "sessions", "edit", c.Sessions[0].ID.String(), "--minutes", "50")
	wantAll(t, mustRun(t, url, "import", corrected, "--update"), "Edited in the journal since, and left as they are there", "the time fished: 50 min → 1 h 15 min", "1 session was changed in the file as well as in the journal")
	if c := contentsOf(t, url); *c.Sessions[0].Stints[0].Minutes != 50 {
		t.Error("the journal's edit was lost")
	}
}

// Ensure that an import is taken back whole, with all that came with it.
func TestImportTakenBack(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	file := sheetFile(t, firstSeason)
	mustRun(t, url, "import", file)
	wantAll(t, mustRun(t, url, "undo", "--yes"), "Imported season.csv: 2 sessions")
	if c := contentsOf(t, url); len(c.Sessions)+len(c.Anglers)+len(c.Waters)+len(c.Rigs) != 0 {
		t.Errorf("left %+v", c)
	}
	wantAll(t, mustRun(t, url, "import", file), "Added 2 sessions")
}

// Ensure that the import asks step by step at a terminal: what a column is, who is meant, whether to write.
func TestImportAsks(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "import", sheetFile(t, firstSeason))
	file := sheetFile(t, "date,Member,water,minutes,tangles,Zibbles\n2025-05-01,Jon Felt,Tessel River,60,2,1\n2025-05-02,Orrin,Tessel River,60,0,3\n2025-05-03,Orrin,Tessel River,60,0,2\n")
	unfinished := []struct {
		name  string
		typed []string
	}{{"quit at once", []string{"quit"}}, {"no at the end", []string{"leave it out", "", "1", "no"}}, {"the end of input", []string{"leave it out"}}}
	for _, tt := range unfinished {
		if got := dialogueIn(t, url, tt.typed, "import", file, "--column", "Member=angler"); got.status != 1 || !strings.Contains(got.errors, "nothing was stored") {
			t.Errorf("%s: status %d\n%s%s", tt.name, got.status, got.out, got.errors)
		}
	}
	if n := len(contentsOf(t, url).Sessions); n != 2 {
		t.Fatalf("%d sessions although nothing was to be written", n)
	}
	got := dialogueIn(t, url, []string{"zib", "snags", "back", "leave it out", "", "?", "1", "yes"}, "import", file, "--column", "Member=angler")
	if got.status != 0 {
		t.Fatalf("status %d\n%s%s", got.status, got.out, got.errors)
	}
	wantAll(t, got.out, "“Zibbles” holds small whole numbers", "What is “Zibbles”", "Jon Felt is new, and J. Felt is in the journal.", "This would add 3 sessions with 3 stints.", "New angler: Orrin.", "Not recorded in 3 stints of 3 h: hookups",
		"Write this to the journal [yes]", "Added 3 sessions")
	c := contentsOf(t, url)
	if len(c.Anglers) != 3 || len(c.Sessions) != 5 {
		t.Errorf("holds %+v", c.Anglers)
	}
	// Nothing is asked with --yes, and what was corrected is, with what is shown before.
	if got := dialogueIn(t, url, nil, "import", file, "--yes"); got.status != 1 || strings.Contains(got.out, "What is") {
		t.Errorf("--yes: status %d\n%s", got.status, got.out)
	}
	corrected := sheetFile(t, strings.Replace(firstSeason, "60,2", "75,3", 1))
	got = dialogueIn(t, url, []string{"", "yes", ""}, "import", corrected)
	wantAll(t, got.out, "the time fished: 1 h → 1 h 15 min", "Take these corrections [no]", "1 session would be updated.", "1 session was updated.")
}

// Ensure that a workbook with a sheet a month comes in whole, and as chosen.
func TestImportWorkbook(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	file := sampleFile("season-workbook.xlsx")
	mustRun(t, url, "import", file)
	stints, minutes, tangles := 0, 0.0, 0
	for _, s := range contentsOf(t, url).Sessions {
		for _, st := range s.Stints {
			stints++
			if st.Minutes != nil {
				minutes += *st.Minutes
			}
			for _, e := range st.Events {
				if e.Kind == "tangle" {
					tangles += e.Count
				}
			}
		}
	}
	// As the sample's own list of what it must hold says.
	if stints != 40 || minutes != 2925 || tangles != 26 {
		t.Errorf("holds %s, %g min, %d tangles", exchange.Counted(stints, "stint"), minutes, tangles)
	}
	wantAll(t, mustRun(t, url, "import", file, "--update"), "Added 0 sessions")
}

// Ensure that what was chosen for a sheet is used for the next one of its headers, said, and forgotten when asked to.
func TestImportRemembers(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	sheetOf := func(day int) string {
		var b strings.Builder
		b.WriteString("date,angler,water,minutes,Zibbles,Tangles\n")
		for row := range 4 {
			fmt.Fprintf(&b, "0%d/0%d/2025,Maud,Tessel,60,%d,\n", row+5, day, row)
		}
		return sheetFile(t, b.String())
	}
	got := runIn(t, url, "import", sheetOf(4))
	wantAll(t, got.errors, `--column "Zibbles=snags"`, `--column "Zibbles=ignore"`, "--dates")
	mustRun(t, url, "import", sheetOf(4), "--column", "Zibbles=snags", "--dates", "day-first", "--blank", "Tangles=unknown")
	wantAll(t, mustRun(t, url, "import", sheetOf(5)), "Read as last time: Zibbles is snags; blanks of Tangles are not recorded; dates are day-first; --fresh forgets it.", "Added 4 sessions")
	if c := contentsOf(t, url); len(c.Sessions) != 8 || c.Sessions[7].Day.String() != "2025-05-08" || c.Sessions[7].Stints[0].Events[0].Count != 3 {
		t.Errorf("holds %+v", c.Sessions)
	}
	// What is said now goes before, and is what is remembered from then on.
	wantAll(t, mustRun(t, url, "import", sheetOf(6), "--column", "Zibbles=ignore"), "Added 4 sessions")
	wantAll(t, mustRun(t, url, "import", sheetOf(7)), "Read as last time: Zibbles is left out;")
	if got := runIn(t, url, "import", sheetOf(8), "--fresh"); got.status != 1 || strings.Contains(got.out, "last time") {
		t.Errorf("--fresh: status %d\n%s", got.status, got.out)
	}
	mustRun(t, url, "import", sheetOf(8), "--fresh", "--dates", "day-first", "--column", "Zibbles=ignore")
	wantAll(t, mustRun(t, url, "import", sheetOf(9)), "Read as last time: Zibbles is left out; dates are day-first; --fresh")
}

// Ensure that undo after undo goes back through edits, an update and the import, one by one.
func TestUndoAfterUndo(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	const sheet = "Date,Angler,Water,Knot,Minutes,Tangles\n2026-04-02,Maud,Tessel,blood,60,1\n"
	mustRun(t, url, "import", sheetFile(t, sheet))
	mustRun(t, url, "import", sheetFile(t, strings.Replace(sheet, "60,1", "60,2", 1)), "--update")
	mustRun(t, url, "sessions", "edit", "last", "--notes", "Hatch at noon")
	mustRun(t, url, "sessions", "edit", "last", "--tangles", "5")
	for i, want := range []string{"5 tangles", "2 tangles", "2 tangles", "1 tangle"} {
		if i > 0 {
			mustRun(t, url, "undo", "--yes")
		}
		shown := mustRun(t, url, "sessions", "show", "last")
		if notes := strings.Contains(shown, "Hatch at noon"); !strings.Contains(shown, want) || notes != (i < 2) {
			t.Errorf("after %d steps back, not %q:\n%s", i, want, shown)
		}
	}
	if back := mustRun(t, url, "undo", "--yes"); !strings.Contains(back, "Taken back: Imported season.csv: 1 session") || !strings.Contains(back, "the angler Maud") {
		t.Errorf("the import: %s", back)
	}
	if got := runIn(t, url, "undo", "--yes"); got.status == 0 || !strings.Contains(got.errors, "nothing to take back") {
		t.Errorf("one more: %+v", got)
	}
}

// Ensure that a sheet whose anglers were merged since adds nothing, nor once the merge was taken back.
func TestImportAfterAMerge(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	name := sheetFile(t, "Date,Angler,Water,Knot,Minutes,Tangles\n2026-04-02,Maud,Tessel,blood,60,1\n2026-04-03,Bertram,Tesel,my knot,60,1\n")
	again := func(when string) {
		t.Helper()
		if out := mustRun(t, url, "import", name, "--new", "Tesel"); !strings.Contains(out, "2 sessions were already there") || !strings.Contains(out, "Added 0 sessions") {
			t.Errorf("%s: %s", when, out)
		}
	}
	mustRun(t, url, "import", name, "--new", "Tesel")
	mustRun(t, url, "anglers", "merge", "Bertram", "Maud")
	again("anglers merged")
	mustRun(t, url, "waters", "merge", "Tesel", "Tessel")
	mustRun(t, url, "knots", "rename", "my knot", "her knot")
	mustRun(t, url, "anglers", "rename", "Maud", "Maude")
	again("waters merged, knot and angler renamed")
	for range 4 {
		mustRun(t, url, "undo", "--yes")
		again("taken back")
	}
	if list := mustRun(t, url, "anglers", "list"); !strings.Contains(list, "Bertram") || strings.Contains(list, "Maude") {
		t.Errorf("anglers: %s", list)
	}
}

// Ensure that undo takes back a sheet of pulls and a retired claim, before what was done earlier.
func TestUndoOfOtherThings(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, goodLog...)
	mustRun(t, url, "bench", "import", sheetFile(t, "Date,Knot,Tippet (mm),Peak (N),Result,Angler\n2026-03-01,blood,0.15,12,broke,Odile\n2026-03-01,blood,0.15,11,broke,Odile\n"))
	if back := mustRun(t, url, "undo", "--yes"); !strings.Contains(back, "Imported season.csv: 2 bench pulls") || !strings.Contains(back, "2 bench pulls; the angler Odile") {
		t.Errorf("the pulls: %s", back)
	}
	mustRun(t, url, "claims", "retire", "1")
	for _, want := range []string{"Retired the claim", "Logged the session of"} {
		if back := mustRun(t, url, "undo", "--yes"); !strings.Contains(back, want) {
			t.Errorf("not %q: %s", want, back)
		}
	}
}
