package main

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

// put sends a session as a phone does, and returns the answer.
func put(t *testing.T, browser *http.Client, address string, d journal.Draft) (status int, body string) {
	t.Helper()
	text, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPut, address+"api/sessions/"+d.Session.ID.String(), bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Origin", strings.TrimSuffix(address, "/"))
	answer, err := browser.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	said, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(said)
}

// draftOf is a session to be sent that is like the last one in the journal.
func draftOf(t *testing.T, browser *http.Client, address string) journal.Draft {
	t.Helper()
	_, text, _ := fetch(t, browser, address+"api/known")
	var known struct{ Last *journal.Session }
	if err := json.Unmarshal([]byte(text), &known); err != nil || known.Last == nil {
		t.Fatalf("no last session (%v): %s", err, text)
	}
	last := *known.Last
	stint := last.Stints[0]
	return journal.Draft{Session: journal.Session{ID: journal.NewID(), AnglerID: last.AnglerID, WaterID: last.WaterID, Day: last.Day, TimeZone: last.TimeZone,
		Stints: []journal.Stint{{ID: journal.NewID(), RigID: stint.RigID, Minutes: new(45.0), Recorded: stint.Recorded}}}}
}

// portIn is the port of an address, as text.
func portIn(t *testing.T, address string) string {
	t.Helper()
	_, port, found := strings.Cut(strings.TrimSuffix(address, "/"), "127.0.0.1:")
	if _, err := strconv.Atoi(port); !found || err != nil {
		t.Fatalf("no port in %s", address)
	}
	return port
}

// Ensure that what a browser kept unsent under one port arrives under that port after the pages moved to another, that
// the pages stay where they were unless told otherwise, and that a port that is taken meanwhile is named.
func TestOldPortsAnswer(t *testing.T) {
	t.Parallel()
	dir := pgtest.DataDir(t)
	outputOf(t, dir, "log", "--angler", "Maud", "--water", "Tessel", "--junction", "blood", "--tag", "165 mm", "--minutes", "60", "--tangles", "2")
	outputOf(t, dir, "database", "start") // one start for all that follows
	defer outputOf(t, dir, "database", "stop")

	s, old := start(t, dir, "serve") // at any port that is free
	phone, kept := s.client, draftOf(t, s.client, old)
	s.stop(t, os.Interrupt)

	s, moved := start(t, dir, "serve") // at another one
	if moved == old {
		t.Fatalf("the pages did not move from %s", old)
	}
	if status, body := put(t, phone, old, kept); status != http.StatusOK {
		t.Errorf("sent to the old port: status %d, %s", status, body)
	}
	if out := outputOf(t, dir, "sessions", "list"); !strings.Contains(out, "45 min") {
		t.Errorf("the session did not arrive:\n%s", out)
	}
	// Neither another site's page nor somebody without the cookie gets in by it.
	if status, _, _ := fetch(t, newBrowser(t), old); status != http.StatusUnauthorized {
		t.Errorf("without the cookie: status %d", status)
	}
	r, err := http.NewRequest(http.MethodGet, old, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Host = "127.0.0.1:" + portIn(t, moved)
	if answer, err := phone.Do(r); err != nil || answer.StatusCode != http.StatusMisdirectedRequest {
		t.Errorf("under the name of the other port: %v, %v", answer, err)
	}
	s.stop(t, os.Interrupt)

	other, err := listenAt(atoi(t, portIn(t, old)))
	if err != nil {
		t.Skip("another program took the port just now: ", err)
	}
	defer other.Close()
	s, stayed := start(t, dir, "serve", "--port", "-1") // as without a setting: where it was last
	if stayed != moved {
		t.Errorf("the pages moved from %s to %s by themselves", moved, stayed)
	}
	s.stop(t, os.Interrupt)
	if said := s.errors.String(); !strings.Contains(said, "Port "+portIn(t, old)) || !strings.Contains(said, "waits until you end the program there") {
		t.Errorf("of the port that is taken rigtally said:\n%s", said)
	}
}

func atoi(t *testing.T, text string) int {
	t.Helper()
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// Ensure that ports are noted in order, bounded, and forgotten in the end, and that a clock that went wrong by a day
// or a line that can't be read costs no other.
func TestPortsAreNoted(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "ports")
	now := time.Date(2026, 5, 4, 18, 0, 0, 0, time.UTC)
	if list, err := readPorts(file, now); err != nil || len(list) > 0 {
		t.Errorf("before the first: %v, %v", list, err)
	}
	today := journal.DateOf(now)
	if err := writePorts(file, []servedPort{{7400, journal.DateOf(now.AddDate(0, 0, 1))}, {7337, today}, {7338, journal.DateOf(now.AddDate(0, 0, -179))}, {7339, journal.DateOf(now.AddDate(0, 0, -181))}}); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, append([]byte("99999 2026-05-04\nport\n\n"), text...), 0o600); err != nil {
		t.Fatal(err)
	}
	list, err := readPorts(file, now)
	if err != nil || len(list) != 3 || list[0].port != 7400 || list[1].port != 7337 || list[2].port != 7338 {
		t.Errorf("%v, %v", list, err)
	}
}
