package pg_test

import (
	"context"
	"errors"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

func TestASessionComesBackAsItWasStored(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	s := b.session(t, journaltest.May1, new(90.0),
		on(1, journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.Landed, Species: "trout", FishLengthMM: new(310.0), Minute: new(12)}),
		journal.Event{Kind: journal.EventTangle, Count: 2, TangleKind: journal.Nest, MinutesLost: new(9), Note: "gust"},
		journal.Event{Kind: journal.EventCheck, Count: 1, Turns: new(0)},
		cut(20, new(60)))
	s.Start = new(time.Date(2026, 5, 1, 8, 30, 0, 0, time.UTC))
	s.End = new(time.Date(2026, 5, 1, 11, 0, 0, 0, time.UTC))
	s.Clarity, s.Wind, s.Light, s.FromGauge, s.Notes = "tinged", "light", "mixed", []string{"flow_m3s"}, "first day"
	s.Stints[0].Positions = []journal.StintPosition{{Position: 0, Fly: "jig"}, {Position: 1, TagStartMM: new(160.0)}}
	stored := b.store1(t, s)
	if stored.Version != 1 || stored.LoggedAt.IsZero() {
		t.Fatalf("version %d, logged at %v", stored.Version, stored.LoggedAt)
	}
	got, err := b.store.SessionByID(context.Background(), s.ID)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, stored) {
		t.Errorf("stored %+v\nread   %+v", stored, got)
	}
}

func TestASessionSentTwiceIsStoredOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	s := b.session(t, journaltest.May1, new(90.0), journaltest.Tangles(2))
	first := b.store1(t, s)
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			if again, err := b.store.SaveSession(context.Background(), s); err != nil || !reflect.DeepEqual(again, first) {
				t.Errorf("sent again: %+v, %v", again, err)
			}
		})
	}
	wg.Wait()
	other := s
	other.Notes = "something else"
	if _, err := b.store.SaveSession(context.Background(), other); !errors.Is(err, journal.ErrConflict) {
		t.Errorf("another session under the same id: %v, want a conflict", err)
	}
	if n := eventTotal(t, b, "tangles"); n != 2 {
		t.Errorf("%g tangles in the journal, want 2", n)
	}
}

func eventTotal(t *testing.T, b bench, outcome string) float64 {
	t.Helper()
	o, err := journal.OutcomeByKey(outcome)
	if err != nil {
		t.Fatal(err)
	}
	a, err := b.store.Ask(context.Background(), journal.Question{Outcome: o})
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Groups) == 0 {
		return 0
	}
	return a.Groups[0].K
}

func TestEditingASession(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	first := b.store1(t, b.session(t, journaltest.May1, new(90.0), journaltest.Tangles(2)))
	edit := first
	edit.Stints = append([]journal.Stint{}, first.Stints...)
	edit.Stints[0].Events = []journal.Event{journaltest.Tangles(5)}
	second := b.store1(t, edit)
	if second.Version != 2 || !second.LoggedAt.Equal(first.LoggedAt) {
		t.Errorf("version %d logged %v, want 2 and %v", second.Version, second.LoggedAt, first.LoggedAt)
	}
	if n := eventTotal(t, b, "tangles"); n != 5 {
		t.Errorf("%g tangles after the edit, want 5", n)
	}
	stale := first
	stale.Notes = "from an old page"
	if _, err := b.store.SaveSession(ctx, stale); !errors.Is(err, journal.ErrConflict) {
		t.Errorf("edit of an old version: %v, want a conflict", err)
	}
	unknown := b.session(t, journaltest.May1, nil)
	unknown.Version = 3
	if _, err := b.store.SaveSession(ctx, unknown); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("edit of a session never stored: %v, want not found", err)
	}
}

func TestDeletingASessionCanBeUndone(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	s := b.store1(t, b.session(t, journaltest.May1, new(90.0), journaltest.Tangles(2)))
	if err := b.store.DeleteSession(ctx, s.ID, 0); err != nil {
		t.Fatal(err)
	}
	if n := eventTotal(t, b, "tangles"); n != 0 {
		t.Errorf("a question still sees %g tangles", n)
	}
	again := s
	again.Version = 0
	if _, err := b.store.SaveSession(ctx, again); !errors.Is(err, journal.ErrConflict) {
		t.Errorf("storing a deleted session again: %v, want a conflict", err)
	}
	deleted, err := b.store.DeletedSessions(ctx)
	if err != nil || len(deleted) != 1 {
		t.Fatalf("%d deleted sessions, %v", len(deleted), err)
	}
	if err := b.store.RestoreSession(ctx, s.ID, 0); err != nil {
		t.Fatal(err)
	}
	if got, err := b.store.SessionByID(ctx, s.ID); err != nil || !reflect.DeepEqual(got, s) {
		t.Errorf("restored %+v, %v; want %+v", got, err, s)
	}
	if err := b.store.RestoreSession(ctx, s.ID, 0); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("restoring twice: %v", err)
	}
	if err := b.store.DeleteSession(ctx, journaltest.NewID(t), 0); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("deleting nothing: %v", err)
	}
}

func TestADeletedSessionIsKeptForThirtyDays(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	url := pgtest.NewDatabase(t)
	b := bench{}
	var err error
	if b.store, err = pg.Open(ctx, url); err != nil {
		t.Fatal(err)
	}
	defer b.store.Close()
	b.angler, _ = b.store.AnglerNamed(ctx, "Ilse")
	b.water, _, _ = b.store.WaterNamed(ctx, "Alder Brook", "")
	b.rig = b.save(t, journaltest.OneDropper("Blood 165"))
	var ids []journal.ID
	for range 2 {
		s := b.session(t, journaltest.May1, new(60.0))
		s.BeatID = nil
		ids = append(ids, b.store1(t, s).ID)
		if err := b.store.DeleteSession(ctx, s.ID, 0); err != nil {
			t.Fatal(err)
		}
	}
	conn := connect(t, url)
	for i, days := range []int{29, 31} {
		if _, err := conn.Exec(ctx, `UPDATE deleted_session SET deleted_at = now() - make_interval(days => $1) WHERE session_id = $2`, days, ids[i]); err != nil {
			t.Fatal(err)
		}
	}
	deleted, err := b.store.DeletedSessions(ctx)
	if err != nil || len(deleted) != 1 || deleted[0].ID != ids[0] {
		t.Errorf("%d sessions kept, %v; want only the one of 29 days", len(deleted), err)
	}
}

// connect goes round every policy, with the only outfit at work.
func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(context.Background(), pgtest.AsSuperuser(url))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	// Triggers look at the outfit at work, whoever writes.
	if _, err := conn.Exec(context.Background(), `SELECT set_config('rigtally.outfit', (SELECT id::text FROM outfit), false)`); err != nil {
		t.Fatal(err)
	}
	return conn
}

func TestARigThatWasFishedNeverChanges(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	fresh := b.rig
	fresh.Positions = append([]journal.RigPosition{}, b.rig.Positions...)
	fresh.Positions[1].TagLengthMM = new(150.0)
	unfished := b.save(t, fresh)
	if unfished.ID != b.rig.ID || unfished.Revision != 1 {
		t.Errorf("a rig nobody fished became revision %d", unfished.Revision)
	}
	b.store1(t, b.session(t, journaltest.May1, new(60.0)))
	fresh.Positions[1].TagLengthMM = new(180.0)
	fresh.Version = unfished.Version
	revised := b.save(t, fresh)
	if revised.ID == b.rig.ID || revised.Revision != 2 {
		t.Errorf("editing a fished rig gave revision %d under the same id: %v", revised.Revision, revised.ID == b.rig.ID)
	}
	if same := b.save(t, revised); !reflect.DeepEqual(same, revised) {
		t.Errorf("saving without a change gave %+v", same)
	}
	old, err := b.store.RigByID(ctx, b.rig.ID)
	if err != nil || *old.Positions[1].TagLengthMM != 150 {
		t.Errorf("the fished rig now has %v, %v", old.Positions, err)
	}
	if err := b.store.DeleteRig(ctx, b.rig.ID, 0); !journal.IsInvalid(err) {
		t.Errorf("deleting a fished rig: %v", err)
	}
	if err := b.store.DeleteRig(ctx, revised.ID, 0); err != nil {
		t.Errorf("deleting a rig nobody fished: %v", err)
	}
	if _, err := b.store.SaveRig(ctx, journaltest.OneDropper("blood 165")); !journal.IsInvalid(err) {
		t.Errorf("a second rig of a name: %v", err)
	}
}

// The tables themselves must refuse what the rules in Go refuse, whoever writes.
func TestTheTablesRefuseWhatCannotBe(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	ctx := context.Background()
	b := bench{}
	var err error
	if b.store, err = pg.Open(ctx, url); err != nil {
		t.Fatal(err)
	}
	defer b.store.Close()
	b.angler, _ = b.store.AnglerNamed(ctx, "Ilse")
	water, beat, _ := b.store.WaterNamed(ctx, "Alder Brook", "Mill Run")
	b.water, b.beat = water, *beat
	if _, _, err := b.store.WaterNamed(ctx, "Hill Tarn", "North Bay"); err != nil {
		t.Fatal(err)
	}
	b.rig = b.save(t, journaltest.OneDropper("Blood 165"))
	b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(1), on(1, journaltest.Hookups(2, journal.Fair, journal.Landed))))
	conn := connect(t, url)
	for _, sql := range []string{
		`UPDATE rig SET name = 'other'`,
		`DELETE FROM rig`,
		`UPDATE rig_position SET tag_length_mm = 10 WHERE position = 1`,
		`DELETE FROM rig_position`,
		`INSERT INTO rig_position (outfit_id, rig_id, position, hang) SELECT outfit_id, id, 2, 'tag' FROM rig`,
		`UPDATE stint SET seconds = 0`,
		`UPDATE stint SET seconds = 90000`,
		`UPDATE stint SET stroke = 'sideways'`,
		`UPDATE stint SET landed = 99`,
		`UPDATE stint_position SET foul = 3 WHERE position = 1`,
		`UPDATE stint_position SET twists = 9`,
		`UPDATE stint_position SET tangles = -1`,
		`UPDATE stint_position SET tag_start_mm = 0`,
		`UPDATE stint_position SET position = 7 WHERE position = 1`,
		`UPDATE event SET count = 0`,
		`UPDATE event SET kind = 'party'`,
		`UPDATE event SET hooking = 'fair' WHERE kind = 'tangle'`,
		`UPDATE event SET ending = 'freed' WHERE kind = 'hookup'`,
		`UPDATE event SET break_place = 'tag' WHERE kind = 'hookup'`,
		`UPDATE event SET turns = 3 WHERE kind = 'tangle'`,
		`UPDATE event SET cut_mm = 20 WHERE kind = 'tangle'`,
		`UPDATE event SET kind = 'fly change', tangle_kind = NULL, cut_mm = -1 WHERE kind = 'tangle'`,
		`UPDATE event SET minutes_lost = 2 WHERE kind = 'hookup'`,
		`UPDATE event SET position = 5`,
		`UPDATE session SET water_temp_c = 60`,
		`UPDATE session SET flow_m3s = -1`,
		`UPDATE session SET velocity_ms = 16`,
		`UPDATE session SET day = '1800-01-01'`,
		`UPDATE session SET ended_at = now()`,
		`UPDATE session SET started_at = now(), ended_at = now() - interval '1 hour'`,
		`UPDATE session SET clarity = 'fizzy'`,
		`UPDATE session SET from_gauge = '{wind}'`,
		`UPDATE session SET beat_id = (SELECT id FROM beat WHERE name = 'North Bay')`,
		`UPDATE session SET angler_id = gen_random_uuid()`,
		`UPDATE angler SET name = ' '`,
		`UPDATE angler SET kind = 'ghost'`,
		`INSERT INTO angler (outfit_id, id, name, kind) SELECT outfit_id, gen_random_uuid(), upper(name), 'client' FROM angler`,
		`UPDATE water SET time_zone = ''`,
		`DELETE FROM water`,
		`UPDATE outfit SET units = 'furlong'`,
	} {
		if _, err := conn.Exec(ctx, sql); err == nil {
			t.Errorf("the tables took: %s", sql)
		} else if !strings.Contains(err.Error(), "SQLSTATE 23") {
			t.Errorf("%s: refused, but not by a constraint: %v", sql, err)
		}
	}
}

func TestNothingIsHalfWritten(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	good := b.session(t, journaltest.May1, new(90.0), journaltest.Tangles(2))
	b.store1(t, good)
	clash := b.session(t, journaltest.May1, new(30.0))
	clash.Stints = append(clash.Stints, good.Stints[0]) // its id is taken: only the tables can see
	if _, err := b.store.SaveSession(ctx, clash); !journal.IsInvalid(err) {
		t.Fatalf("a stint id used twice: %v", err)
	}
	if _, err := b.store.SessionByID(ctx, clash.ID); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("half of the refused session is in the journal: %v", err)
	}
	if n := eventTotal(t, b, "tangles"); n != 2 {
		t.Errorf("%g tangles, want 2", n)
	}
}

func TestOpeningTwiceAtOnceMakesOneOutfit(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			s, err := pg.Open(context.Background(), url)
			if err != nil {
				t.Error(err)
				return
			}
			s.Close()
		})
	}
	wg.Wait()
	var n int
	if err := connect(t, url).QueryRow(context.Background(), `SELECT count(*) FROM outfit`).Scan(&n); err != nil || n != 1 {
		t.Errorf("%d outfits, %v; want 1", n, err)
	}
}
