//go:build linux

package faults_test

import (
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"rigtally/journal"
)

// fillKinds are what the disk fills up in the middle of.
var fillKinds = []kind{
	{"saving", fromUsed, (*round).savingToFull},
	{"importing", fromUsed, (*round).importingToFull},
	{"exporting", fromUsed, (*round).exportingToFull},
	{"backing-up", fromUsed, (*round).backingUpToFull},
}

// diskBytes is the size of the small disk: a journal takes some 70 MB of it.
const diskBytes = 160 << 20

// filled is what the rounds of TestFullDisk came to.
var filled tally

// Ensure that on a disk that fills up nothing that was acknowledged is lost or half written, that whoever works is told
// what to mend, and that all goes on once there is room.
// go test ./internal/faults -run TestFullDisk -fills 100 -timeout 1h -v
func TestFullDisk(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("many seconds of processes")
	}
	if os.Geteuid() != 0 {
		t.Skip("only root can mount a small disk")
	}
	n := max(*fills, 1)
	t.Run("rounds", func(t *testing.T) { rounds(t, n, fillKinds, newDisk) })
	t.Log(filled.String())
}

// newDisk is newFolder on a small disk of its own.
func newDisk(t *testing.T, from string) *folder {
	t.Helper()
	dir, err := os.MkdirTemp("", "rigtally-disk-")
	if err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%d,mode=755", diskBytes), "tmpfs", dir).CombinedOutput(); err != nil {
		_ = os.Remove(dir)
		t.Skipf("no small disk can be mounted: %v: %s", err, out)
	}
	t.Cleanup(func() {
		if err := errors.Join(syscall.Unmount(dir, syscall.MNT_DETACH), os.Remove(dir)); err != nil {
			t.Error(err)
		}
	})
	return folderIn(t, dir, from)
}

// filler is the file that takes the room.
func (r *round) filler() string { return filepath.Join(filepath.Dir(r.home), "filler") }

// fill takes room, and leaves at most some of it: often nothing, else up to 24 MB. Half of the commands meet with a
// server that runs already, since one that starts wants room itself.
func (r *round) fill() {
	r.Helper()
	if r.kind != "saving" && r.rand.IntN(2) == 0 {
		r.must("database", "start")
	}
	left := int64(r.rand.ExpFloat64() * (6 << 20))
	if r.rand.IntN(3) == 0 {
		left = 0
	}
	left = min(left, 24<<20)
	var st syscall.Statfs_t
	if err := syscall.Statfs(filepath.Dir(r.home), &st); err != nil {
		r.Fatal(err)
	}
	f, err := os.Create(r.filler())
	if err != nil {
		r.Fatal(err)
	}
	defer f.Close()
	piece := make([]byte, 64<<10)
	for room := int64(st.Bavail)*int64(st.Bsize) - left; room > 0 && err == nil; room -= int64(len(piece)) {
		_, err = f.Write(piece[:min(room, int64(len(piece)))])
	}
	r.note("the disk has %d kB left (%v)", left>>10, err)
}

// makeRoom takes the filler away.
func (r *round) makeRoom() {
	r.Helper()
	if err := os.Remove(r.filler()); err != nil {
		r.Error(err)
	}
	r.note("there is room again")
}

// told fails unless a command that failed said that the disk is full.
func (r *round) told(p *process) {
	r.Helper()
	if said := p.said(); strings.Contains(said, "full") {
		filled.count(r.kind + ": told that the disk is full")
	} else {
		filled.count(r.kind + ": failed in other words")
		r.note("it does not say that the disk is full: %s", said)
	}
}

// savingToFull saves by the pages until the disk is full, and goes on when there is room.
func (r *round) savingToFull() {
	at := &pages{}
	if !r.serve(at) {
		return
	}
	c := &phone{name: "Phone A", rand: r.rand}
	r.fill()
	var waiting journal.Draft
	edits, refused := -1, false
	for n, begun := 0, time.Now(); !refused && n < 60 && time.Since(begun) < *promise; n++ {
		waiting, edits = c.draft(n)
		waiting.Session.Notes += strings.Repeat(" and wind", 200)
		got, status, says := r.send(at, waiting)
		if refused = status != http.StatusOK; !refused {
			c.keep(got, edits)
			continue
		}
		r.note("refused: %s", says)
		filled.count(fmt.Sprintf("%s: refused, and told that the disk is full: %v", r.kind, strings.Contains(says, "full")))
	}
	r.makeRoom()
	if refused { // a phone goes on trying; the database may be starting again
		got, ok := r.save(at, waiting)
		if !ok {
			return
		}
		c.keep(got, edits)
	}
	if at.process.hasEnded() {
		r.Errorf("serve ended: %s", at.process.said())
		return
	}
	if err := at.process.cmd.Process.Signal(os.Interrupt); err != nil {
		r.Error(err)
	}
	r.wait(at.process)
	r.saved([]*phone{c}, logged{})
}

// importingToFull imports a sheet onto a disk that fills up: whole or not at all.
func (r *round) importingToFull() {
	name := r.aSheet()
	r.fill()
	p := r.start("import", name, "--yes")
	done := r.wait(p)
	if !done {
		r.told(p)
	}
	r.makeRoom()
	switch n := len(r.look().sessions) - oldSessions; {
	case done && n != sheetRows, n != 0 && n != sheetRows:
		r.Errorf("acknowledged: %v; %d sessions of %d are there", done, n, sheetRows)
	}
	r.must("import", name, "--yes")
	if n := len(r.look().sessions) - oldSessions; n != sheetRows {
		r.Errorf("imported again, %d sessions are there, not %d", n, sheetRows)
	}
}

// exportingToFull writes a backup onto a disk that fills up: whole or not at all.
func (r *round) exportingToFull() {
	name := filepath.Join(r.home, "journal.jsonl")
	r.fill()
	p := r.start("export", "--to", name)
	done := r.wait(p)
	if !done {
		r.told(p)
	}
	_, err := os.Stat(name)
	if there := err == nil; done != there || err != nil && !errors.Is(err, fs.ErrNotExist) {
		r.Errorf("acknowledged: %v, and it is there: %v (%v)", done, there, err)
	} else if there {
		if got, err := readBackup(name); err != nil || len(got.sessions) != oldSessions {
			r.Errorf("the backup has %d sessions of %d, %v", len(got.sessions), oldSessions, err)
		}
	}
	r.makeRoom()
	if n := len(r.look().sessions); n != oldSessions {
		r.Errorf("the journal has %d sessions, not %d", n, oldSessions)
	}
}

// backingUpToFull makes a backup of everything on a disk that fills up. Each that has a backup's name is whole.
func (r *round) backingUpToFull() {
	r.fill()
	p := r.start("backups", "make")
	done := r.wait(p)
	if !done {
		r.told(p)
	}
	made := r.backups()
	if done != (len(made) > 0) {
		r.Errorf("acknowledged: %v, and there are the backups %v", done, made)
	}
	r.makeRoom()
	r.backedUp(made)
}
