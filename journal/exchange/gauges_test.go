package exchange_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
)

// Ensure that a backup carries what sessions took of gauges, though not the gauges' readings: it goes into another journal,
// stays with a session that is edited there, goes when the session is said to have been at another time, and a backup that says
// it of no session is refused.
func TestBackupKeepsWhatSessionsTook(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	from := journaltest.Store(t)
	if _, err := demo.Fill(ctx, from, demo.Generate(demo.Seed, 30)); err != nil {
		t.Fatal(err)
	}
	if err := journaltest.Gauge(ctx, from); err != nil {
		t.Fatal(err)
	}
	taken := journaltest.Contents(t, from).Taken
	if len(taken) < 5 {
		t.Fatalf("%d sessions took something", len(taken))
	}
	file := journaltest.Backup(t, from)
	to := journaltest.Store(t)
	if _, err := exchange.ReadBackup(ctx, to, strings.NewReader(file), nil); err != nil {
		t.Fatal(err)
	}
	text := func(v any) string {
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	if got := journaltest.Contents(t, to).Taken; text(got) != text(taken) {
		t.Errorf("there they took %s\nwant %s", text(got), text(taken))
	}
	s, err := to.SessionByID(ctx, taken[0].Session)
	if err != nil {
		t.Fatal(err)
	}
	took := func() int {
		t.Helper()
		fills, err := to.Fills(ctx, s.ID)
		if err != nil {
			t.Fatal(err)
		}
		return len(fills[s.ID])
	}
	s.Notes = "edited"
	if s, err = to.SaveSession(ctx, s); err != nil || took() != len(taken[0].Fills) {
		t.Errorf("edited, it takes %d, %v", took(), err)
	}
	if err := errors.Join(to.DeleteSession(ctx, s.ID, 0), to.RestoreSession(ctx, s.ID, 0)); err != nil || took() != len(taken[0].Fills) {
		t.Errorf("deleted and restored, it takes %d, %v", took(), err)
	}
	if s.Start != nil {
		s.Start, s.End = nil, nil
	} else {
		s.Start = new(s.Day.In(time.UTC).Add(13 * time.Hour))
	}
	if s, err = to.SaveSession(ctx, s); err != nil || took() != 0 {
		t.Errorf("at another time, it takes %d, %v", took(), err)
	}
	if _, err := to.Undo(ctx, journal.ID{}); err != nil || took() != 0 {
		t.Errorf("undone, it takes %d, %v", took(), err) // nothing of the gauge is stored here
	}
	var lines []string
	gone := taken[0].Session.String()
	for _, line := range strings.Split(journaltest.Unsealed(file), "\n") {
		if !strings.HasPrefix(line, `{"session":{"id":"`+gone) {
			lines = append(lines, line)
		}
	}
	if _, err := exchange.ReadContents(strings.NewReader(strings.Join(lines, "\n"))); err == nil {
		t.Error("a backup says what a session took that it does not hold")
	}
}
