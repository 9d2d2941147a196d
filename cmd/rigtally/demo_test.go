package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"rigtally/internal/pgserver/pgtest"
)

// Ensure that the demo shows an answer, then its address as the last line, and
// that SIGTERM leaves neither a process nor a file.
func TestDemo(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	s, address := start(t, dir, "demo", "--sessions", "60")
	wantPage(t, address)
	if text := strings.Join(s.lines, "\n"); !strings.Contains(text, "invented") || !strings.Contains(text, "$ rigtally rates tangles --by junction") {
		t.Errorf("no answer came before the address:\n%s", text)
	}
	folders := childFolders(t, s.cmd.Process.Pid)
	s.stop(t, syscall.SIGTERM)
	for _, f := range folders {
		if _, err := os.Stat(f); !os.IsNotExist(err) {
			t.Errorf("the folder %s is left (%v)", f, err)
		}
		if left := serversIn(t, f); len(left) > 0 {
			t.Errorf("left running: %v", left)
		}
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) > 0 {
		t.Errorf("the person's own folder was touched: %v, %v", entries, err)
	}
}

// childFolders returns the folders that the children of a process work in:
// those of its PostgreSQL, on a system that tells.
func childFolders(t *testing.T, pid int) []string {
	t.Helper()
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	for _, stat := range stats {
		raw, _ := os.ReadFile(stat) // gone meanwhile
		_, rest, _ := strings.Cut(string(raw), ") ")
		var state string
		var parent int
		if n, _ := fmt.Sscan(rest, &state, &parent); n == 2 && parent == pid {
			if cwd, err := os.Readlink(filepath.Join(filepath.Dir(stat), "cwd")); err == nil {
				found = append(found, cwd)
			}
		}
	}
	if len(stats) > 0 && len(found) == 0 {
		t.Error("the demo has no PostgreSQL of its own")
	}
	return found
}
