package main

import (
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
)

// fetch gets a page within a time that nobody would call a hang.
func fetch(t *testing.T, address string) (status int, body, retryAfter string) {
	t.Helper()
	client := http.Client{Timeout: 20 * time.Second}
	response, err := client.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, string(text), response.Header.Get("Retry-After")
}

// killDatabase kills the server of the journal in a folder.
func killDatabase(t *testing.T, dir string) {
	t.Helper()
	where := outputOf(t, dir, "database", "where")
	found := regexp.MustCompile(`runs \(process (\d+)\)`).FindStringSubmatch(where)
	if found == nil {
		t.Fatalf("no server runs: %s", where)
	}
	pid, err := strconv.Atoi(found[1])
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
}

// Ensure that pages whose database was killed say to try again while it is away, that it comes back by itself with
// all that was stored, at its address, and that nothing is left behind.
func TestServeRestartsDatabase(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	s, address := start(t, dir, "serve")
	outputOf(t, dir, "log", "--angler", "Maud", "--water", "Tessel", "--junction", "blood", "--tag", "165 mm", "--minutes", "60", "--tangles", "2")
	url := outputOf(t, dir, "database", "url")
	for range 2 {
		lock := lockStarting(t, dir)
		killDatabase(t, dir)
		for path, want := range map[string]string{"": "Try again in a few seconds", "api/known": `"unavailable"`} {
			// A connection may hold for a moment yet: its process has to notice that it is alone.
			status, body, retryAfter := fetch(t, address+path)
			for deadline := time.Now().Add(30 * time.Second); status == http.StatusOK && time.Now().Before(deadline); {
				status, body, retryAfter = fetch(t, address+path)
			}
			if status != http.StatusServiceUnavailable || !strings.Contains(body, want) || retryAfter == "" {
				t.Errorf("/%s without a database: status %d, try again after %q s\n%s", path, status, retryAfter, body)
			}
		}
		lock.Close()
		wantPageSoon(t, address+"sessions", "Maud")
	}
	if again := outputOf(t, dir, "database", "url"); again != url {
		t.Errorf("the address was %s and is now %s", url, again)
	}
	s.stop(t, os.Interrupt)
	if said := s.errors.String(); strings.Count(said, "was started again") != 2 {
		t.Errorf("after the database was killed twice, rigtally said:\n%s", said)
	}
	if left := serversIn(t, dir); len(left) > 0 {
		t.Errorf("left running: %v", left)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "socket*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// lockStarting keeps every rigtally from starting the server in a folder until the file is closed.
func lockStarting(t *testing.T, dir string) *os.File {
	t.Helper()
	lock, err := os.OpenFile(filepath.Join(dir, "start.lock"), os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = lock.Close() })
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX); err != nil {
		t.Fatal(err)
	}
	return lock
}

// wantPageSoon waits until a page shows a text.
func wantPageSoon(t *testing.T, address, text string) {
	t.Helper()
	for deadline := time.Now().Add(30 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		status, body, _ := fetch(t, address)
		if status == http.StatusOK && strings.Contains(body, text) {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("%s does not show %q again: status %d\n%s", address, text, status, body)
		}
	}
}
