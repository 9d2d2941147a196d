package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/archive"
)

// backupsIn are the names of the backups of the journal in a folder.
func backupsIn(t *testing.T, dir string) (names []string) {
	t.Helper()
	files, unreadable, err := archive.Folder{Dir: filepath.Join(dir, "backups")}.List()
	if err != nil || len(unreadable) > 0 {
		t.Fatal(unreadable, err)
	}
	for _, f := range files {
		names = append(names, f.Name)
	}
	return names
}

// Ensure that a journal is kept by itself before its tables change and once something was written, and that nothing changes where that
// fails; that its backup is found good, comes back whole in an empty journal and merged in another, and that one with a bit
// changed is refused by its place.
func TestBackupsOfAJournal(t *testing.T) {
	t.Parallel()
	dir, other := pgtest.DataDir(t), pgtest.DataDir(t)
	do := func(status int, in string, args ...string) string {
		t.Helper()
		text, err := programAt(t, in, args...).CombinedOutput()
		if (err == nil) != (status == 0) {
			t.Fatalf("rigtally %s: %v\n%s", strings.Join(args, " "), err, text)
		}
		return string(text)
	}
	has := func(text string, words ...string) {
		t.Helper()
		for _, w := range words {
			if !strings.Contains(text, w) {
				t.Errorf("no %q in:\n%s", w, text)
			}
		}
	}
	// Held up, so that not each command starts a server.
	for _, in := range []string{dir, other} {
		do(0, in, "database", "start")
		defer do(0, in, "database", "stop")
	}
	log := func(minutes string, more ...string) []string {
		return append([]string{"log", "--angler", "Maud", "--water", "Tessel", "--junction", "blood", "--tangles", "2", "--minutes", minutes}, more...)
	}
	ofEarlierProgram(t, dir)
	has(do(1, dir, log("60", "--backup-dir", "/dev/null/backups")...), "no backup could be made before the tables are brought up to date, so nothing was changed", "--backups off")
	do(0, dir, log("60")...)
	made := backupsIn(t, dir)
	if len(made) != 2 || !strings.HasSuffix(made[0], "-daily.rigtally") || !strings.HasSuffix(made[1], "-migration.rigtally") {
		t.Fatalf("after new tables and a write: %v", made)
	}
	do(0, dir, log("30", "--backups", "off")...)
	if again := backupsIn(t, dir); len(again) != 2 {
		t.Errorf("turned off: %v", again)
	}
	has(do(0, dir, "backups", "verify", "all"), made[0]+" is good", "1 session", made[1]+" is good", "0 sessions")
	has(do(0, dir, "backups", "list"), "of the day", "before new tables", made[0])
	has(do(0, other, "backups", "restore", filepath.Join(dir, "backups", made[0])), "The journal is as it was", "1 session")
	has(do(0, other, "sessions", "list"), "1 h")

	do(0, other, log("45")...)
	one := filepath.Join(t.TempDir(), "one.rigtally")
	do(0, other, "backups", "make", "--to", one)
	has(do(1, dir, "backups", "restore", one), "would add 1 session", "--yes")
	has(do(0, dir, "backups", "restore", one, "--yes"), "Added 1 session", "1 session was already there")

	text, err := os.ReadFile(one)
	if err != nil {
		t.Fatal(err)
	}
	text[len(text)/2] ^= 4
	if err := os.WriteFile(one, text, 0o600); err != nil {
		t.Fatal(err)
	}
	has(do(1, dir, "backups", "verify", one), "the backup is damaged in", "bytes")
	has(do(1, dir, "backups", "restore", one, "--yes"), "the backup is damaged in")
}

// ofEarlierProgram makes the tables of an earlier program in the journal of a folder whose server runs, with an outfit.
func ofEarlierProgram(t *testing.T, dir string) {
	t.Helper()
	status, err := pgserver.Inspect(pgserver.Config{DataDir: dir})
	if err != nil {
		t.Fatal(err)
	}
	superuser := status.URL(command.DatabaseName)
	as := func(user string) string {
		return strings.Replace(superuser, "//"+pgserver.Superuser+"@", "//"+user+"@", 1)
	}
	if err := archive.Prepare(t.Context(), as(pgserver.Keeper), as(pgserver.Program), 17); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), superuser)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), `INSERT INTO outfit (id, name, time_zone) VALUES (gen_random_uuid(), 'Of long ago', 'UTC')`); err != nil {
		t.Fatal(err)
	}
}
