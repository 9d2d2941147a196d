//go:build linux

package faults_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// knows skips a round of a program that has no such command.
func (r *round) knows(args ...string) {
	r.Helper()
	if p := r.start(append(args, "--help")...); !r.wait(p) || !strings.Contains(p.said(), "rigtally "+strings.Join(args, " ")) {
		r.Skipf("this program has no command %v", args)
	}
}

// backingUp kills while a backup of everything is made. Each that has a backup's name is whole.
func (r *round) backingUp() {
	r.knows("backups", "make")
	_, done := r.strike("backups make", "backups", "make")
	r.goOn()
	made := r.backups()
	if done && len(made) == 0 {
		r.Error("a backup was acknowledged and is not there")
	}
	r.backedUp(made)
}

// backedUp looks that backups are whole, that another can be made, and that the journal is as it was.
func (r *round) backedUp(made []string) {
	r.Helper()
	for _, name := range made {
		r.must("backups", "verify", name)
	}
	r.must("backups", "make")
	if n := len(r.backups()); n <= len(made) {
		r.Errorf("%d backups are there after another was made, and were %d", n, len(made))
	}
	if left, err := filepath.Glob(filepath.Join(r.data, "backups", ".part-*")); err != nil || len(left) > 0 {
		r.Errorf("left among the backups: %v, %v", left, err)
	}
	if n := len(r.look().sessions); n != oldSessions {
		r.Errorf("the journal has %d sessions, not %d", n, oldSessions)
	}
}

// backups are the files of backups in the data folder.
func (r *round) backups() []string {
	r.Helper()
	found, err := filepath.Glob(filepath.Join(r.data, "backups", "[^.]*.rigtally"))
	if err != nil {
		r.Fatal(err)
	}
	return found
}

// bringingBack kills while a backup of everything is brought into a new journal: whole or not at all.
func (r *round) bringingBack() {
	r.knows("backups", "restore")
	name := filepath.Join(r.home, "journal.rigtally")
	r.must("backups", "make", "--to", name)
	whole := r.look()
	if err := os.RemoveAll(r.data); err != nil {
		r.Fatal(err)
	}
	_, done := r.strike("backups restore", "backups", "restore", name, "--yes")
	r.goOn()
	n := len(r.look().sessions)
	if done && n != oldSessions || n != 0 && n != oldSessions {
		r.Errorf("acknowledged: %v; %d sessions of %d are there", done, n, oldSessions)
	}
	came.count(fmt.Sprintf("%s: acknowledged %v, there %v", r.kind, done, n > 0))
	r.must("backups", "restore", name, "--yes")
	r.all(whole)
}

// upgrading kills while the journal moves to a newer PostgreSQL. It is in one of both, whole, and can move again.
func (r *round) upgrading() {
	r.knows("database", "upgrade")
	if said := r.must("database", "upgrade", "--check"); !strings.Contains(said, "then ") {
		r.Skipf("no newer PostgreSQL is here: %s", said)
	}
	whole := r.look()
	_, done := r.strike("upgrade", "database", "upgrade")
	r.goOn()
	r.all(whole)
	if said := r.must("database", "upgrade", "--check"); done == strings.Contains(said, "then ") {
		r.Errorf("an upgrade was acknowledged: %v, and then:\n%s", done, said)
	}
	r.must("database", "upgrade")
	r.must("database", "upgrade", "--remove-old")
	r.all(whole)
}

// all looks that the journal holds all of another look.
func (r *round) all(want look) {
	r.Helper()
	got := r.look()
	for id, s := range want.sessions {
		r.same("session "+id, got.sessions[id], s)
	}
	for kind, n := range want.kinds {
		if got.kinds[kind] != n {
			r.Errorf("the journal has %d records of kind %s, not %d", got.kinds[kind], kind, n)
		}
	}
}
