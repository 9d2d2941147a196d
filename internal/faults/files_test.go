//go:build linux

package faults_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"rigtally/internal/pgserver"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
)

// Sizes of files that are brought in: large enough for a kill to fall into the writing.
const (
	sheetRows      = 800
	backupSessions = 250
)

// aSheet writes an invented sheet, a session each row, every other one with a tangle.
func (r *round) aSheet() string {
	r.Helper()
	var text strings.Builder
	text.WriteString("date,angler,water,rig,junction,tag_mm,minutes,hookups,landed,tangles\n")
	for i := range sheetRows {
		fmt.Fprintf(&text, "2024-%02d-%02d,Ubbe Sandlark %d,Gansel Brook,Sheet rig,blood,165,90,2,1,%d\n", 1+i/28%12, 1+i%28, i/336, i%2)
	}
	return r.file("season.csv", text.String())
}

func (r *round) file(name, text string) string {
	r.Helper()
	path := filepath.Join(r.home, name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		r.Fatal(err)
	}
	return path
}

// importing kills while a sheet is imported. It is in whole or not at all, and importing it again adds the rest.
func (r *round) importing() {
	name := r.aSheet()
	_, done := r.strike("import", "import", name, "--yes")
	r.goOn()
	got := r.look()
	switch n := len(got.sessions) - oldSessions; {
	case done && n != sheetRows:
		r.Errorf("of an import that was acknowledged %d sessions are there, not %d", n, sheetRows)
	case n != 0 && n != sheetRows:
		r.Errorf("%d sessions of %d are there: half an import", n, sheetRows)
	default:
		came.count(fmt.Sprintf("%s: acknowledged %v, there %v", r.kind, done, n > 0))
	}
	r.must("import", name, "--yes")
	if n := len(r.look().sessions) - oldSessions; n != sheetRows {
		r.Errorf("imported again, %d sessions are there, not %d", n, sheetRows)
	}
}

// aBackup is a backup of an invented season, made once.
var aBackup = sync.OnceValues(func() (text string, err error) {
	dir, err := os.MkdirTemp(base(), "rigtally-pattern-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	if err := os.Chmod(dir, 0o755); err != nil {
		return "", err
	}
	return text, inFolder(filepath.Join(dir, "data"), backupSessions, func(_ *pgserver.Server, store *pg.Store) error {
		var b strings.Builder
		err := exchange.WriteBackup(context.Background(), store, &b)
		text = b.String()
		return err
	})
})

// restoring kills while a backup is brought into a new journal, which the command makes.
func (r *round) restoring() {
	text, err := aBackup()
	if err != nil {
		r.Fatal(err)
	}
	name := r.file("backup.jsonl", text)
	whole, err := readBackup(name)
	if err != nil {
		r.Fatal(err)
	}
	_, done := r.strike("restore", "import", name)
	r.goOn()
	got := r.look()
	switch n := len(got.sessions); {
	case done && n != backupSessions:
		r.Errorf("of a backup that was brought back %d sessions are there, not %d", n, backupSessions)
	case n != 0 && n != backupSessions:
		r.Errorf("%d sessions of %d are there: half a backup", n, backupSessions)
	default:
		came.count(fmt.Sprintf("%s: acknowledged %v, there %v", r.kind, done, n > 0))
	}
	r.must("import", name)
	r.all(whole)
}

// exporting kills while a backup is written to a file, which is there whole or not at all.
func (r *round) exporting() {
	name := filepath.Join(r.home, "journal.jsonl")
	_, done := r.strike("export", "export", "--to", name)
	_, err := os.Stat(name)
	if there := err == nil; done && !there || err != nil && !errors.Is(err, fs.ErrNotExist) {
		r.Errorf("the backup was acknowledged and is not there: %v", err)
	} else if there {
		if got, err := readBackup(name); err != nil || len(got.sessions) != oldSessions {
			r.Errorf("a backup has %d sessions of %d, %v", len(got.sessions), oldSessions, err)
		}
	}
	r.goOn()
	r.must("export", "--to", name, "--force")
	if got, err := readBackup(name); err != nil || len(got.sessions) != oldSessions {
		r.Errorf("written again, the backup has %d sessions of %d, %v", len(got.sessions), oldSessions, err)
	}
	if n := len(r.look().sessions); n != oldSessions {
		r.Errorf("the journal has %d sessions, not %d", n, oldSessions)
	}
}
