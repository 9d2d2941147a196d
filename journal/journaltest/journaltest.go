// Package journaltest makes what tests of journals have in common.
package journaltest

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

// May1 is a day of the season.
var May1 = journal.Date{Year: 2026, Month: time.May, Day: 1}

// NewID makes an id.
func NewID(t testing.TB) journal.ID {
	t.Helper()
	return journal.NewID()
}

// OneDropper is a rig of a point fly and one dropper on a tag.
func OneDropper(name string) journal.Rig {
	return journal.Rig{Name: name, Method: "tight-line nymph", Positions: []journal.RigPosition{
		{Position: 0, TippetMM: new(0.127), Bulk: "slim", HookSize: new(16)},
		{Position: 1, Hang: journal.HangTag, Junction: "blood", Facing: "down", Prop: "none", TagLengthMM: new(165.1), TippetMM: new(0.127), Bulk: "hackled", HookSize: new(18)},
	}}
}

// Hookups are so many fish.
func Hookups(n int, hooking journal.Hooking, ending journal.Ending) journal.Event {
	return journal.Event{Kind: journal.EventHookup, Count: n, Hooking: hooking, Ending: ending}
}

// Tangles are so many twists.
func Tangles(n int) journal.Event {
	return journal.Event{Kind: journal.EventTangle, Count: n, TangleKind: journal.Twist}
}

// Store is an empty journal.
func Store(t testing.TB) *pg.Store {
	t.Helper()
	store, err := pg.Open(t.Context(), pgtest.NewDatabase(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	return store
}

// Import brings a spreadsheet in.
func Import(t testing.TB, store *pg.Store, text string, opt sheet.Options) exchange.Result {
	t.Helper()
	s, err := sheet.Read(t.Context(), strings.NewReader(text), "test.csv", opt)
	if err != nil {
		t.Fatal(err)
	}
	r, err := s.Import(t.Context(), store, sheet.How{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Contents are all of a journal.
func Contents(t testing.TB, store *pg.Store) journal.Contents {
	t.Helper()
	c, err := store.Contents(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Backup is a journal as a backup.
func Backup(t testing.TB, store *pg.Store) string {
	t.Helper()
	var b bytes.Buffer
	if err := exchange.WriteBackup(t.Context(), store, &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

var seal = regexp.MustCompile(`(?m),"n":\d+,"sum":"[0-9a-f]+"}$`)

// Unsealed is a backup as version 2 wrote it, without sums: one that a test can alter.
func Unsealed(backup string) string {
	return strings.Replace(seal.ReplaceAllString(backup, "}"), `"version":3`, `"version":2`, 1)
}

// FirstDifference shows where two texts part.
func FirstDifference(a, b string) string {
	as, bs := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(as), len(bs)) {
		if as[i] != bs[i] {
			return fmt.Sprintf("line %d:\n%s\n%s\nheader: %s", i+1, as[i], bs[i], as[0])
		}
	}
	return fmt.Sprintf("%d lines and %d lines", len(as), len(bs))
}
