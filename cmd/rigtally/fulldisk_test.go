//go:build linux

package main

import (
	"errors"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

// smallDisk is a data folder on a disk of its own, of a few megabytes more than a journal takes.
func smallDisk(t *testing.T) string {
	t.Helper()
	dir := pgtest.DataDir(t)
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=160m,mode=700"); err != nil {
		t.Skip("a disk of its own can be made by root alone: ", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error("taking the disk away:", err)
		}
	})
	return dir
}

// fillUp leaves no room on the disk of a folder until the file that it returns is removed.
func fillUp(t *testing.T, dir string) (file string) {
	t.Helper()
	f, err := os.Create(filepath.Join(dir, "filler"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for size := 1 << 20; size > 0; { // what is left is taken by ever less
		if _, err := io.Copy(f, strings.NewReader(strings.Repeat("x", size))); errors.Is(err, syscall.ENOSPC) {
			size /= 2
		} else if err != nil {
			t.Fatal(err)
		}
	}
	return f.Name()
}

// saveUntilRefused sends sessions until one is refused, and returns the ids of those that were taken, and the answer.
func saveUntilRefused(t *testing.T, phone *http.Client, address string, like journal.Draft) (taken []string, status int, said string) {
	t.Helper()
	for range 2000 {
		like.Session.ID, like.Session.Stints[0].ID = journal.NewID(), journal.NewID()
		if status, said = put(t, phone, address, like); status != http.StatusOK {
			return taken, status, said
		}
		taken = append(taken, like.Session.ID.String())
	}
	t.Fatal("the full disk never showed")
	return nil, 0, ""
}

// Ensure that a full disk is named with what to do about it, to a phone, on a page, and at the terminal; that saving
// goes on once there is room, without a new start; and that nothing acknowledged is lost, though the server was stopped
// on the full disk.
func TestFullDisk(t *testing.T) {
	t.Parallel()
	dir := smallDisk(t)
	s, address := start(t, dir, "serve")
	log := []string{"log", "--angler", "Maud", "--water", "Tessel", "--junction", "blood", "--tag", "165 mm", "--minutes", "60", "--tangles", "2"}
	outputOf(t, dir, log...)
	like := draftOf(t, s.client, address)
	where := outputOf(t, dir, "database", "where")

	filler := fillUp(t, dir)
	taken, status, said := saveUntilRefused(t, s.client, address, like)
	const full = "disk that holds the journal is full, so nothing of this was saved; make room"
	if status != http.StatusServiceUnavailable || !strings.Contains(said, full) || !strings.Contains(said, `"unavailable"`) {
		t.Errorf("a phone is answered with %d: %s", status, said)
	}
	cmd := programAt(t, dir, log...)
	if text, err := cmd.CombinedOutput(); err == nil || !strings.Contains(string(text), full) {
		t.Errorf("the terminal says %s (%v)", text, err)
	}
	if status, _, _ := fetch(t, s.client, address+"sessions"); status != http.StatusOK {
		t.Errorf("reading while the disk is full: status %d", status)
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	if status, said := put(t, s.client, address, like); status != http.StatusOK {
		t.Errorf("with room again: status %d, %s", status, said)
	}
	taken = append(taken, like.Session.ID.String())
	if now := outputOf(t, dir, "database", "where"); now != where {
		t.Errorf("the server was started again: it was\n%s and is\n%s", where, now)
	}

	filler = fillUp(t, dir)
	more, _, _ := saveUntilRefused(t, s.client, address, like)
	taken = append(taken, more...)
	killDatabase(t, dir)
	wantWord(t, s.client, address+"sessions", http.StatusServiceUnavailable, "disk that holds it is full; make room")
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	wantPageSoon(t, s.client, address+"sessions", "Maud") // it comes back by itself
	filler = fillUp(t, dir)
	s.stop(t, os.Interrupt)
	if left := serversIn(t, dir); len(left) > 0 {
		t.Errorf("left running: %v", left)
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	kept := outputOf(t, dir, "export", "--to", "-", "--format", "jsonl")
	if lost := slices.DeleteFunc(taken, func(id string) bool { return strings.Contains(kept, id) }); len(lost) > 0 {
		t.Errorf("of what was acknowledged these are lost: %v", lost)
	}
}
