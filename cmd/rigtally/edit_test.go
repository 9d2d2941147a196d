package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver/pgtest"
)

// editIn runs "rigtally sessions edit last" with an editor, which is a shell command that gets the file as $1, as at a
// terminal where the given lines are typed.
func editIn(t *testing.T, url, dir, editor string, typed ...string) outcome {
	t.Helper()
	script := filepath.Join(t.TempDir(), "the editor")
	if err := os.WriteFile(script, []byte("#!/bin/sh\nset -e\n"+editor+"\n"), 0o700); err != nil {
		t.Fatal(err)
	}
	var out, errs bytes.Buffer
	p := command.New(strings.NewReader(strings.Join(typed, "\n")+"\n"), &out, &errs,
		[]string{"RIGTALLY_DATABASE_URL=" + url, "RIGTALLY_DATA_DIR=" + dir, "COLUMNS=0", `EDITOR="` + script + `" -w`})
	p.Asks = len(typed) > 0
	status := p.Run(t.Context(), commands(p), []string{"sessions", "edit", "last"})
	return outcome{status, out.String(), errs.String()}
}

// Ensure that a session is edited in an editor with arguments, that nothing changed stores nothing, and that what was
// stored can be taken back.
func TestEditInAnEditor(t *testing.T) {
	t.Parallel()
	url, dir := pgtest.NewDatabase(t), t.TempDir()
	mustRun(t, url, append(goodLog, "--tangles", "1")...)
	if got := editIn(t, url, dir, `test "$1" = -w`); got.status != 0 || !strings.Contains(got.out, "Nothing was changed") {
		t.Errorf("nothing changed: %+v", got)
	}
	got := editIn(t, url, dir, `sed -i 's/^tangles = 1 /tangles = 3 /; s/^minutes = "1 h"/minutes = "1h30"/' "$2"`)
	if got.status != 0 || !strings.Contains(got.out, "Stored as version 2") || !strings.Contains(got.out, "1 h 30 min; 3 tangles") {
		t.Errorf("edited: %+v", got)
	}
	if left, err := filepath.Glob(filepath.Join(dir, "edits", "*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	if back := mustRun(t, url, "undo", "--yes"); !strings.Contains(back, "Taken back") || !strings.Contains(mustRun(t, url, "sessions", "show", "last"), "1 h; 1 tangle") {
		t.Errorf("taken back: %s", back)
	}
}

// Ensure that what is wrong is said with its line, that the editor opens again with what was written, and that it is
// kept when the person gives up, where --from takes it up again.
func TestAnEditIsNeverLost(t *testing.T) {
	t.Parallel()
	url, dir := pgtest.NewDatabase(t), t.TempDir()
	mustRun(t, url, append(goodLog, "--tangles", "1")...)
	spoil := `sed -i 's/^tangles = 1 /tangles = "lots" /' "$2"`
	again := `if grep -q '^#! line .*tangles' "$2"; then sed -i 's/"lots"/4/' "$2"; else ` + spoil + `; fi`
	if got := editIn(t, url, dir, again, "yes"); got.status != 0 || !strings.Contains(got.errors, "tangles: \"lots\" is not a whole number") || !strings.Contains(got.out, "4 tangles") {
		t.Errorf("mended: %+v", got)
	}
	spoil = strings.Replace(spoil, "= 1 ", "= 4 ", 1)
	for _, typed := range [][]string{{"no"}, {"quit"}, nil} {
		got := editIn(t, url, dir, spoil, typed...)
		file := regexp.MustCompile(`kept in (\S+);`).FindStringSubmatch(got.errors)
		if got.status == 0 || file == nil {
			t.Fatalf("given up with %q: %+v", typed, got)
		}
		text, err := os.ReadFile(file[1])
		if err != nil || !strings.Contains(string(text), `tangles = "lots"`) {
			t.Errorf("kept: %v\n%s", err, text)
		}
		if got := runIn(t, url, "sessions", "edit", "last", "--from", file[1]); got.status != 2 || !strings.Contains(got.errors, "line ") {
			t.Errorf("from the file: %+v", got)
		}
		if err := os.WriteFile(file[1], []byte(strings.Replace(string(text), `"lots"`, "4", 1)), 0o600); err != nil {
			t.Fatal(err)
		}
		if got := runIn(t, url, "sessions", "edit", "last", "--from", file[1]); got.status != 0 || !strings.Contains(got.out, "Nothing was changed") {
			t.Errorf("from the file, mended: %+v", got)
		}
	}
	if got := editIn(t, url, dir, "exit 3"); got.status != 1 || !strings.Contains(got.errors, "the editor") || strings.Contains(got.errors, "kept in") {
		t.Errorf("a failing editor: %+v", got)
	}
	got := runIn(t, url, "sessions", "edit", "last")
	if got.status != 2 || !strings.Contains(got.errors, "set EDITOR") {
		t.Errorf("no editor: %+v", got)
	}
}

// Ensure that a session that was changed meanwhile is told with what the journal has, and that the edit is kept.
func TestAnEditInConflictIsKept(t *testing.T) {
	t.Parallel()
	url, dir := pgtest.NewDatabase(t), t.TempDir()
	mustRun(t, url, append(goodLog, "--tangles", "1")...)
	page := filepath.Join(t.TempDir(), "page.toml")
	editIn(t, url, dir, `cp "$2" `+page)
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(page, bytes.Replace(text, []byte("tangles = 1 "), []byte("tangles = 5 "), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	mustRun(t, url, "sessions", "edit", "last", "--tangles", "2")
	got := editIn(t, url, dir, `cp `+page+` "$2"`, "yes")
	if got.status != 1 || !strings.Contains(got.errors, "version 2") || !strings.Contains(got.errors, "2 tangles") || !strings.Contains(got.errors, "kept in") {
		t.Errorf("%+v", got)
	}
	if shown := mustRun(t, url, "sessions", "show", "last"); !strings.Contains(shown, "2 tangles") {
		t.Errorf("the journal has\n%s", shown)
	}
}

// Ensure that flags change what they name alone, and say what they lack.
func TestEditByFlags(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "Maud", "--water", "Tessel", "--notes", "Mist",
		"--stint", "junction=blood, tag=6 in, minutes=60, landed=2, lost=0, broke-off=0, tangles=2, twists=1",
		"--stint", "junction=uni, tag=6 in, minutes=30, landed=0, lost=0, broke-off=junction=1, tangles=0")
	for _, c := range []struct {
		args   []string
		status int
		want   []string
	}{
		{[]string{"--stint", "1", "--landed", "3"}, 0, []string{"3 hookups", "3 landed"}},
		{[]string{"--stint", "2", "--minutes", "45", "--notes", ""}, 0, []string{"45 min"}},
		{[]string{"--stint", "2", "--broke-off", "junction=2"}, 0, []string{"2 broken off"}},
		{[]string{"--stint", "1", "--twists", "2"}, 0, []string{"3 tangles"}},
		{[]string{"--stint", "1", "--twists", "0", "--tangles", "1"}, 0, []string{"1 tangle"}},
		{[]string{"--stint", "1", "--twists", "2", "--tangles", "1"}, 2, []string{"--tangles: 1 are fewer than there are of twists 2"}},
		{[]string{"--water", "Ghyll", "--beat", "Bridge"}, 0, []string{"Maud on Ghyll, Bridge"}},
		{[]string{"--date", "2026-05-02"}, 0, []string{"2026-05-02"}},
		{[]string{"--tangles", "4"}, 2, []string{"the session has 2 stints; say with --stint which one"}},
		{[]string{"--stint", "3", "--tangles", "4"}, 2, []string{"no such stint"}},
		{[]string{"--stint", "1"}, 2, []string{"nothing to change"}},
		{[]string{"--stint", "1", "--minutes", "40h"}, 1, []string{"2400 minutes"}},
		{[]string{"--dry-run", "--stint", "1", "--snags", "7"}, 0, []string{"7 snags", "Nothing was stored"}},
		{[]string{"--stint", "1", "--tangles", "1"}, 0, []string{"Nothing was changed"}},
	} {
		got := runIn(t, url, append([]string{"sessions", "edit", "last"}, c.args...)...)
		for _, want := range c.want {
			if got.status != c.status || !strings.Contains(got.out+got.errors, want) {
				t.Errorf("%v: status %d, want %q:\n%s%s", c.args, got.status, want, got.out, got.errors)
			}
		}
	}
	if shown := mustRun(t, url, "sessions", "show", "last"); strings.Contains(shown, "Mist") || strings.Contains(shown, "7 snags") {
		t.Error(shown)
	}
}
