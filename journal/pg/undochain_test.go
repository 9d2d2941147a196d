package pg_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// Ensure that an import, its updates and what was edited in between go back one after the other.
func TestImportsGoBackOneByOne(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	start := names(journaltest.Contents(t, b.store))
	a := b.addition(t, 3)
	if err := b.store.Add(ctx, a, nil); err != nil {
		t.Fatal(err)
	}
	id := a.Sessions[0].ID
	says := func(what, want string) {
		t.Helper()
		got, err := b.store.SessionByID(ctx, id)
		if want == "-" && errors.Is(err, journal.ErrNotFound) {
			return
		}
		if err != nil || got.Notes != want {
			t.Errorf("%s: %q, %v; want %q", what, got.Notes, err, want)
		}
	}
	write := func(notes string, version int) journal.Session {
		s := a.Sessions[0]
		s.Notes, s.Version = notes, version
		return s
	}
	b.store1(t, write("by hand", 1))
	for i, notes := range []string{"once", "twice"} {
		up := journal.Addition{Sessions: []journal.Session{write(notes, i+3)}, Replaced: map[journal.ID]int{id: i + 2}, Told: "Imported season.csv: 0 sessions, 1 updated", Step: journal.NewID()}
		if err := b.store.Add(ctx, up, nil); err != nil {
			t.Fatal(err)
		}
	}
	if err := b.store.DeleteSession(ctx, id, 0); err != nil {
		t.Fatal(err)
	}
	again := journal.Addition{Sessions: []journal.Session{write("again", 1)}, Told: "Imported season.csv: 1 session", Step: journal.NewID()}
	if err := b.store.Add(ctx, again, nil); err != nil {
		t.Fatal(err)
	}
	b.store1(t, write("at last", 5))
	for i, want := range []string{"again", "-", "twice", "once", "by hand", "", "-"} {
		undo(t, b.store, journal.ID{})
		says(fmt.Sprintf("taken back %d", i+1), want)
	}
	if _, err := b.store.Undo(ctx, journal.ID{}); !journal.IsInvalid(err) {
		t.Errorf("an eighth step: %v", err)
	}
	if got := names(journaltest.Contents(t, b.store)); !slices.Equal(got, start) {
		t.Errorf("left are %v, want %v", got, start)
	}
	recounted(t, b.store)
	neverBoth(t, b.url)
}

// Ensure that what is deleted beside sessions, and pulls of a sheet, are steps of their own.
func TestOtherThingsGoBack(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	rig := journaltest.OneDropper("Short")
	rig, err := b.store.SaveRig(ctx, rig)
	if err != nil {
		t.Fatal(err)
	}
	board := claims(t, b.store)
	list := []journal.BenchPull{pull(t, "blood", 9), pull(t, "blood", 8)}
	odile := journal.Angler{ID: journaltest.NewID(t), Name: "Odile", Kind: journal.Client, Active: true}
	for i := range list {
		list[i].AnglerID = &odile.ID
	}
	old, err := b.store.SaveBenchPull(ctx, pull(t, "blood", 7))
	if err != nil {
		t.Fatal(err)
	}
	start := names(journaltest.Contents(t, b.store))
	rules, err := b.store.RuleSets(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, do := range []error{
		b.store.DeleteBenchPull(ctx, old.ID, 0),
		b.store.RestoreBenchPull(ctx, old.ID, 0),
		b.store.DeleteBenchPull(ctx, old.ID, 0),
		b.store.RetireClaim(ctx, board[0].ID, 0),
		b.store.DeleteRuleSet(ctx, rules[0].ID),
		b.store.DeleteRig(ctx, rig.ID, 0),
		b.store.AddBenchPulls(ctx, append(list, old), []journal.Angler{odile}, "Imported pulls.csv: 3 bench pulls"),
	} {
		if do != nil {
			t.Fatal(do)
		}
	}
	var pulled []int
	var told []string
	for range 7 {
		u := undo(t, b.store, journal.ID{})
		held, err := b.store.BenchPulls(ctx)
		if err != nil || len(u.Left) > 0 {
			t.Fatalf("%+v, %v", u, err)
		}
		pulled, told = append(pulled, len(held)), append(told, u.Step.What)
	}
	if !slices.Equal(pulled, []int{0, 0, 0, 0, 1, 0, 1}) {
		t.Errorf("after each step there were %v pulls, of %q", pulled, told)
	}
	if !strings.HasPrefix(told[1], "Deleted the rig Short") || !strings.HasPrefix(told[3], "Retired the claim") || told[5] != "Brought back the bench pull of 2026-05-01" && !strings.HasPrefix(told[5], "Brought back the bench pull of 20") {
		t.Errorf("taken back were %q", told)
	}
	if got := names(journaltest.Contents(t, b.store)); !slices.Equal(got, start) {
		t.Errorf("there are %v, want %v", got, start)
	}
	if got, err := b.store.RigByID(ctx, rig.ID); err != nil || !got.SameAs(rig) || len(got.Positions) != len(rig.Positions) {
		t.Errorf("the rig came back as %+v, %v", got, err)
	}
	if now := claims(t, b.store); now[0].RetiredAt != nil {
		t.Errorf("the claim is still retired: %+v", now[0])
	}
	// What was corrected since stays.
	if err := b.store.AddBenchPulls(ctx, list, []journal.Angler{odile}, "Imported pulls.csv: 2 bench pulls"); err != nil {
		t.Fatal(err)
	}
	kept := list[0]
	kept.Note, kept.Version = "by hand", 1
	if _, err := b.store.SaveBenchPull(ctx, kept); err != nil {
		t.Fatal(err)
	}
	if u := undo(t, b.store, journal.ID{}); len(u.Left) != 1 || !strings.HasPrefix(u.Left[0], "1 bench pull changed") || !slices.Equal(u.Gone, []string{"1 bench pull"}) {
		t.Errorf("taken back: %+v", u)
	}
}
