package pg_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

// rounds is how often two writers are let loose on the same thing at once.
const rounds = 60

// both runs two writers at once and returns what each was told.
func both(a, b func() error) (errA, errB error) {
	start := make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() { <-start; errA = a() })
	wg.Go(func() { <-start; errB = b() })
	close(start)
	wg.Wait()
	return errA, errB
}

// lostTo reports whether err tells a writer that another version is held, and which.
func lostTo(err error) (held int, ok bool) {
	var c *journal.Conflict
	if !errors.Is(err, journal.ErrConflict) || !errors.As(err, &c) {
		return 0, false
	}
	return c.Held, true
}

func TestDeleteAgainstEdit(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	edited, deleted := 0, 0
	for i := range rounds {
		s := b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(1)))
		edit := s
		edit.Notes = fmt.Sprintf("edit %d", i)
		edits, deletes := both(
			func() error { _, err := b.store.SaveSession(ctx, edit); return err },
			func() error { return b.store.DeleteSession(ctx, s.ID, s.Version) })
		live, err := b.store.SessionByID(ctx, s.ID)
		gone := errors.Is(err, journal.ErrNotFound)
		switch {
		case edits == nil && deletes == nil:
			t.Fatalf("round %d: both were acknowledged", i)
		case edits == nil:
			edited++
			if held, ok := lostTo(deletes); !ok || held != 2 || gone || live.Notes != edit.Notes {
				t.Fatalf("round %d: the edit was acknowledged and is %+v, %v; the delete was told %v", i, live, err, deletes)
			}
		case deletes == nil:
			deleted++
			if held, ok := lostTo(edits); !ok || held != 1 || !gone {
				t.Fatalf("round %d: the delete was acknowledged and it is %+v, %v; the edit was told %v", i, live, err, edits)
			}
		default:
			t.Fatalf("round %d: neither was: %v, %v", i, edits, deletes)
		}
	}
	t.Logf("%d edited, %d deleted", edited, deleted)
	list, err := b.store.DeletedSessions(ctx)
	if err != nil || len(list) != deleted {
		t.Errorf("%d sessions are deleted, %v; want %d", len(list), err, deleted)
	}
	neverBoth(t, b.url)
}

// neverBoth fails when a session is live and deleted at once.
func neverBoth(t *testing.T, url string) {
	t.Helper()
	var n int
	if err := connect(t, url).QueryRow(context.Background(), `SELECT count(*) FROM session s JOIN deleted_session d ON d.outfit_id = s.outfit_id AND d.session_id = s.id`).Scan(&n); err != nil || n > 0 {
		t.Errorf("%d sessions are live and deleted at once, %v", n, err)
	}
}

func TestTwoEditsOfARigNobodyFished(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	for i := range rounds {
		rig := b.save(t, journaltest.OneDropper(fmt.Sprintf("Spare %d", i)))
		edit := func(mm float64) func() error {
			mine := rig
			mine.Positions = append([]journal.RigPosition{}, rig.Positions...)
			mine.Positions[1].TagLengthMM = &mm
			return func() error { _, err := b.store.SaveRig(ctx, mine); return err }
		}
		first, second := both(edit(150), edit(180))
		got, err := b.store.RigByID(ctx, rig.ID)
		if err != nil {
			t.Fatal(err)
		}
		if (first == nil) == (second == nil) {
			t.Fatalf("round %d: told %v and %v", i, first, second)
		}
		won, lost := 150.0, second
		if second == nil {
			won, lost = 180, first
		}
		var c *journal.Conflict
		held := journal.Rig{}
		if errors.As(lost, &c) {
			held, _ = c.Stored.(journal.Rig)
		}
		if *got.Positions[1].TagLengthMM != won || got.Version != 2 || c == nil || c.Seen != 1 || c.Held != 2 || !held.Equal(got) {
			t.Fatalf("round %d: the tag is %g mm in version %d, and the loser was told %v", i, *got.Positions[1].TagLengthMM, got.Version, lost)
		}
	}
}

// Both succeed, with one angler, guide, water, beat and rig, however they wrote the names.
func TestTwoPhonesWithTheSameNewAngler(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	for i := range rounds {
		var stored [2]journal.Session
		log := func(n int, spell func(string) string) func() error {
			name := func(of string) string { return spell(fmt.Sprintf("%s %d", of, i)) }
			d := journal.Draft{Session: b.session(t, journaltest.May1, new(60.0)), Angler: name("Odo"), Guide: name("Wido"), Water: name("Far Beck"), Beat: name("Top"),
				Rigs: map[int]journal.Rig{0: journaltest.OneDropper(name("Short"))}}
			d.Session.Stints[0].RigID = journal.ID{}
			return func() (err error) {
				stored[n], err = b.store.LogSession(ctx, d)
				return err
			}
		}
		first, second := both(log(0, func(s string) string { return s }), log(1, func(s string) string { return " " + strings.ToUpper(s) + " " }))
		if first != nil || second != nil {
			t.Fatalf("round %d: told %v and %v", i, first, second)
		}
		x, y := stored[0], stored[1]
		if x.AnglerID != y.AnglerID || *x.GuideID != *y.GuideID || x.WaterID != y.WaterID || *x.BeatID != *y.BeatID || x.Stints[0].RigID != y.Stints[0].RigID {
			t.Fatalf("round %d: stored %+v\nand %+v", i, x, y)
		}
	}
	anglers, err := b.store.Anglers(ctx)
	if err != nil || len(anglers) != 1+2*rounds {
		t.Errorf("%d anglers, %v; want %d", len(anglers), err, 1+2*rounds)
	}
	if _, n, err := b.store.SessionLines(ctx, journal.SessionFilter{Limit: 1}); err != nil || n != 2*rounds {
		t.Errorf("%d sessions, %v; want %d", n, err, 2*rounds)
	}
}

// Ensure that two merges at once, and a merge or an undo beside an edit, leave a journal that hangs together.
func TestMergesAtOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	for i := range rounds / 3 {
		var a [2]journal.Thing
		for j := range a {
			angler, err := b.store.AnglerNamed(ctx, fmt.Sprintf("Angler %d %d", i, j))
			if err != nil {
				t.Fatal(err)
			}
			a[j] = byID(journal.ThingAngler, angler.ID)
		}
		s := b.session(t, journaltest.May1, new(60.0))
		s.AnglerID = a[0].ID
		s = b.store1(t, s)
		first, second := both(func() error { _, err := b.store.Merge(ctx, a[0], a[1]); return err }, func() error { _, err := b.store.Merge(ctx, a[1], a[0]); return err })
		if (first == nil) == (second == nil) {
			t.Fatalf("round %d: told %v and %v", i, first, second)
		}
		if lost := errors.Join(first, second); !errors.Is(lost, journal.ErrNotFound) {
			t.Fatalf("round %d: the loser was told %v", i, lost)
		}
		edit := s
		edit.Notes = "edited"
		edited, undone := both(func() error { _, err := b.store.SaveSession(ctx, edit); return err }, func() error { _, err := b.store.Undo(ctx, lastMerge(t, b.store)); return err })
		got, err := b.store.SessionByID(ctx, s.ID)
		if edited != nil || undone != nil || err != nil || got.AnglerID != a[0].ID || got.Notes != "edited" || got.Version != 2 {
			t.Fatalf("round %d: told %v and %v, and it is %+v, %v", i, edited, undone, got, err)
		}
	}
}

func lastMerge(t testing.TB, s *pg.Store) journal.ID {
	list, err := s.Steps(context.Background(), 10)
	if err != nil {
		t.Error(err)
	}
	for _, st := range list {
		if st.Kind == journal.StepMerge {
			return st.ID
		}
	}
	return journal.ID{}
}

// Ensure that of an edit and of taking back what it began from, one is told.
func TestUndoAgainstEdit(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	edited, undone := 0, 0
	for i := range rounds {
		s := b.store1(t, b.session(t, journaltest.May1, new(60.0)))
		step := lastStep(t, b.store)
		edit := s
		edit.Notes = fmt.Sprint("edit ", i)
		edits, undoes := both(func() error { _, err := b.store.SaveSession(ctx, edit); return err }, func() error { _, err := b.store.Undo(ctx, step.ID); return err })
		live, err := b.store.SessionByID(ctx, s.ID)
		switch {
		case edits == nil && undoes != nil && journal.IsInvalid(undoes) && err == nil && live.Notes == edit.Notes && live.Version == 2:
			edited++
		case undoes == nil && errors.Is(edits, journal.ErrConflict) && errors.Is(err, journal.ErrNotFound):
			undone++
		default:
			t.Fatalf("round %d: told %v and %v; it is %+v, %v", i, edits, undoes, live, err)
		}
	}
	t.Logf("%d edited, %d taken back", edited, undone)
	neverBoth(t, b.url)
}
