package pg_test

import (
	"context"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

func day(year int, month time.Month, d int) journal.Date {
	return journal.Date{Year: year, Month: month, Day: d}
}

func TestSessionLines(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	old := b.store1(t, b.session(t, day(2025, 7, 2), new(60.0), journaltest.Tangles(3)))
	untimed := b.session(t, day(2026, 4, 1), new(45.0), journaltest.Hookups(2, journal.Fair, journal.Landed), journaltest.Hookups(1, journal.Foul, journal.Lost))
	untimed.Stints = append(untimed.Stints, journal.Stint{ID: journaltest.NewID(t), RigID: b.rig.ID, Recorded: journal.RecordedOf(journal.KindHookups, journal.KindSnags)})
	untimed.BeatID = nil
	untimed = b.store1(t, untimed)

	lines, total, err := b.store.SessionLines(ctx, journal.SessionFilter{})
	if err != nil {
		t.Fatal(err)
	}
	want := []journal.SessionLine{
		{ID: untimed.ID, Day: untimed.Day, Angler: "Ilse", Water: "Alder Brook", Stints: 2, Untimed: 1, Minutes: 45,
			Hookups: journal.Total{N: 3, Kept: 2, Stints: 2}, Landed: journal.Total{N: 2, Kept: 1, Stints: 2}, Tangles: journal.Total{Kept: 1, Stints: 2}, Breaks: journal.Total{Kept: 1, Stints: 2}, Rigs: []journal.Rig{b.rig}},
		{ID: old.ID, Day: old.Day, Angler: "Ilse", Water: "Alder Brook", Beat: "Mill Run", Stints: 1, Minutes: 60,
			Hookups: journal.Total{Kept: 1, Stints: 1}, Landed: journal.Total{Kept: 1, Stints: 1}, Tangles: journal.Total{N: 3, Kept: 1, Stints: 1}, Breaks: journal.Total{Kept: 1, Stints: 1}, Rigs: []journal.Rig{b.rig}},
	}
	if total != 2 || !reflect.DeepEqual(lines, want) {
		t.Errorf("%d sessions: %+v\nwant %+v", total, lines, want)
	}
}

func TestSessionFilter(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	b.store1(t, b.session(t, day(2025, 12, 31), nil))
	b.store1(t, b.session(t, day(2026, 1, 1), nil))
	b.store1(t, b.session(t, day(2026, 6, 1), nil))
	noted := b.session(t, day(2024, 5, 1), nil)
	noted.Notes = "High and 100% brown"
	b.store1(t, noted)
	nobody := journaltest.NewID(t)
	for name, c := range map[string]struct {
		filter journal.SessionFilter
		lines  int
		total  int
	}{
		"season":         {journal.SessionFilter{Season: 2026}, 2, 2},
		"angler":         {journal.SessionFilter{Angler: &b.angler.ID, Season: 2025}, 1, 1},
		"another angler": {journal.SessionFilter{Angler: &nobody}, 0, 0},
		"water":          {journal.SessionFilter{Water: &b.water.ID}, 4, 4},
		"another rig":    {journal.SessionFilter{Rig: &nobody}, 0, 0},
		"rig":            {journal.SessionFilter{Rig: &b.rig.ID}, 4, 4},
		"rig's name":     {journal.SessionFilter{RigName: strings.ToUpper(b.rig.Name)}, 4, 4},
		"no such rig":    {journal.SessionFilter{RigName: b.rig.Name + "x"}, 0, 0},
		"words":          {journal.SessionFilter{Text: "BROWN  alder mill"}, 1, 1},
		"a sign":         {journal.SessionFilter{Text: "100%"}, 1, 1},
		"no wildcard":    {journal.SessionFilter{Text: "b%n"}, 0, 0},
		"of a rig":       {journal.SessionFilter{Text: b.rig.Name[:3]}, 4, 4},
		"page":           {journal.SessionFilter{Limit: 2, Offset: 2}, 2, 4},
		"past the end":   {journal.SessionFilter{Offset: 50}, 0, 4},
	} {
		lines, total, err := b.store.SessionLines(ctx, c.filter)
		if err != nil || len(lines) != c.lines || total != c.total {
			t.Errorf("%s: %d lines of %d, %v; want %d of %d", name, len(lines), total, err, c.lines, c.total)
		}
	}
	seasons, err := b.store.Seasons(ctx)
	if err != nil || !reflect.DeepEqual(seasons, []int{2026, 2025, 2024}) {
		t.Errorf("seasons %v, %v", seasons, err)
	}
}

func TestTotalsBetween(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	b.store1(t, b.session(t, day(2026, 5, 3), new(30.0), journaltest.Tangles(9)))
	two := b.session(t, day(2026, 5, 4), new(40.0), journal.Event{Kind: journal.EventTangle, Count: 1, MinutesLost: new(7)})
	two.Stints = append(two.Stints, journal.Stint{ID: journaltest.NewID(t), RigID: b.rig.ID, Minutes: new(20.0), Recorded: journal.AllRecorded().Without(journal.KindTangles), Events: []journal.Event{journaltest.Hookups(2, journal.Fair, journal.Landed)}})
	b.store1(t, two)
	b.store1(t, b.session(t, day(2026, 5, 10), nil))
	b.store1(t, b.session(t, day(2026, 5, 11), new(30.0), journaltest.Tangles(9)))
	got, err := b.store.TotalsBetween(ctx, day(2026, 5, 4), day(2026, 5, 10))
	if want := (journal.Totals{Sessions: 2, Minutes: 60, Hookups: journal.Total{N: 2, Kept: 3, Stints: 3}, Landed: journal.Total{N: 2, Kept: 3, Stints: 3},
		Tangles: journal.Total{N: 1, Kept: 2, Stints: 3}, MinutesLost: journal.Total{N: 7, Kept: 3, Stints: 3}}); err != nil || got != want {
		t.Errorf("%+v, %v; want %+v", got, err, want)
	}
}

func TestLastSessionIsTheOneLoggedLast(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	if _, err := b.store.LastSession(ctx); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("an empty journal: %v", err)
	}
	b.store1(t, b.session(t, day(2026, 5, 4), nil))
	late := b.store1(t, b.session(t, day(2026, 5, 1), nil))
	got, err := b.store.LastSession(ctx)
	if err != nil || got.ID != late.ID {
		t.Errorf("%v, %v; want %v", got.ID, err, late.ID)
	}
}

func TestTotalsByAngler(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	one := b.store1(t, b.session(t, day(2026, 5, 4), new(40.0), journaltest.Tangles(2)))
	b.store1(t, b.session(t, day(2026, 5, 20), new(20.0), journaltest.Tangles(7)))
	got, err := b.store.TotalsByAngler(t.Context(), day(2026, 5, 1), day(2026, 5, 10))
	if err != nil || len(got) != 1 {
		t.Fatalf("%+v, %v", got, err)
	}
	if of := got[one.AnglerID]; of.Sessions != 1 || of.Minutes != 40 || of.Tangles != (journal.Total{N: 2, Kept: 1, Stints: 1}) {
		t.Errorf("%+v", of)
	}
}

func TestTheUsualRigLastsUntilTheNextSession(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	usual := func() *journal.ID {
		id, err := b.store.UsualRig(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	if usual() != nil {
		t.Error("a fresh journal has a usual rig")
	}
	if err := b.store.SetUsualRig(t.Context(), b.rig.ID); err != nil {
		t.Fatal(err)
	}
	if id := usual(); id == nil || *id != b.rig.ID {
		t.Errorf("the usual rig is %v, want %v", id, b.rig.ID)
	}
	next := b.session(t, day(2026, 5, 4), nil)
	next.LoggedAt = time.Now().Add(time.Minute)
	b.store1(t, next)
	if usual() != nil {
		t.Error("a session that was logged since proposes its own rig")
	}
	if err := b.store.SetUsualRig(t.Context(), journaltest.NewID(t)); err == nil {
		t.Error("a rig that is not in the journal became the usual one")
	}
}
