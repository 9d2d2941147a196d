package pg_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// A refused session leaves nothing behind, whatever it named, and counts no revision.
func TestARefusedDraftLeavesNothingBehind(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	before, err := b.store.Contents(ctx)
	if err != nil {
		t.Fatal(err)
	}
	revision, _ := b.store.Revision(ctx)
	fresh := func(change func(*journal.Draft)) journal.Draft {
		d := journal.Draft{Session: b.session(t, journaltest.May1, new(60.0)), Angler: "Odo", Water: "Far Beck", Beat: "Top", Rigs: map[int]journal.Rig{0: journaltest.OneDropper("Short")}}
		d.Session.Stints[0].RigID = journal.ID{}
		change(&d)
		return d
	}
	for name, c := range map[string]struct {
		draft journal.Draft
		field string // of the problem; "" for a doubt
	}{
		"hot water":        {fresh(func(d *journal.Draft) { d.Session.WaterTempC = new(68.0) }), "water_temp_c"},
		"a long name":      {fresh(func(d *journal.Draft) { d.Angler = strings.Repeat("o", 200) }), "angler"},
		"a zero byte":      {fresh(func(d *journal.Draft) { d.Beat = "T\x00p" }), "beat"},
		"a rig of no name": {fresh(func(d *journal.Draft) { d.Rigs[0] = journal.Rig{} }), "rigs[0]"},
		"no such rig":      {fresh(func(d *journal.Draft) { d.Rigs[0] = journal.Rig{Name: "Nessie"} }), "stints[0].rig_id"},
		"tied otherwise": {fresh(func(d *journal.Draft) {
			d.Rigs[0] = journal.Rig{Name: b.rig.Name, Positions: []journal.RigPosition{{}}}
		}), "stints[0].rig_id"},
		"a wrong rig": {fresh(func(d *journal.Draft) {
			d.Rigs[0] = journal.Rig{Name: "Wrong", Positions: []journal.RigPosition{{Hang: "tag"}}}
		}), "rigs[0]"},
		"a short stint": {fresh(func(d *journal.Draft) { d.Session.Stints[0].Minutes = new(2.0) }), ""},
	} {
		_, err := b.store.LogSession(ctx, c.draft)
		var invalid *journal.Invalid
		switch {
		case c.field == "" && !journal.IsDoubtful(err):
			t.Errorf("%s: %v, want a doubt", name, err)
		case c.field != "" && (!errors.As(err, &invalid) || !slices.Contains(invalid.Fields, c.field)):
			t.Errorf("%s: %v of %v, want it of %s", name, err, invalid, c.field)
		}
	}
	after, err := b.store.Contents(ctx)
	if now, _ := b.store.Revision(ctx); err != nil || now != revision || len(after.Anglers) != len(before.Anglers) || len(after.Waters) != len(before.Waters) || len(after.Rigs) != len(before.Rigs) {
		t.Errorf("left behind: %+v, %v", after, err)
	}
}

// What was confirmed is stored, and is not asked about again when something else is changed.
func TestADoubtIsAskedAboutOnce(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	s := b.session(t, journaltest.May1, new(2.0))
	if _, err := b.store.LogSession(ctx, journal.Draft{Session: s}); !journal.IsDoubtful(err) {
		t.Fatalf("told %v", err)
	}
	s, err := b.store.LogSession(ctx, journal.Draft{Session: s, Confirmed: true})
	if err != nil {
		t.Fatal(err)
	}
	if again, err := b.store.LogSession(ctx, journal.Draft{Session: s}); err != nil || again.Version != 1 {
		t.Errorf("sent twice: version %d, %v", again.Version, err)
	}
	s.Notes = "it began to rain"
	if s, err = b.store.LogSession(ctx, journal.Draft{Session: s}); err != nil {
		t.Fatalf("with other notes: %v", err)
	}
	s.Stints = slices.Clone(s.Stints)
	s.Stints[0].Minutes = new(1.0)
	s.Day = journal.Date{Year: 1989, Month: time.May, Day: 1}
	var doubtful *journal.Doubtful
	if _, err = b.store.LogSession(ctx, journal.Draft{Session: s}); !errors.As(err, &doubtful) || len(doubtful.Doubts) != 1 || doubtful.Doubts[0].Field != "day" {
		t.Errorf("with another day: %v, want a doubt of that alone", err)
	}
}

// A session stored by an older program has its fingerprint in another form: sent again
// from a queue it is still the same, and so it is to an import.
func TestAnOldFingerprintIsKnownAgain(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	s := b.session(t, journaltest.May1, new(90.0), journaltest.Tangles(2))
	s.Stints[0].Recorded = journal.RecordedOf(journal.KindTangles)
	stored := b.store1(t, s)
	if _, err := connect(t, b.url).Exec(ctx, `UPDATE session SET fingerprint = 42`); err != nil {
		t.Fatal(err)
	}
	if again, err := b.store.SaveSession(ctx, s); err != nil || again.Version != stored.Version {
		t.Errorf("sent again: version %d, %v", again.Version, err)
	}
	standing := func(s journal.Session) journal.Standing {
		list, err := b.store.Standings(ctx, []journal.Session{s})
		if err != nil {
			t.Fatal(err)
		}
		return list[0]
	}
	if got := standing(s); got != journal.Same {
		t.Errorf("an import takes it for %d", got)
	}
	for what, change := range map[string]func(*journal.Session){
		"what was recorded": func(s *journal.Session) { s.Stints[0].Recorded = journal.AllRecorded() },
		"a second":          func(s *journal.Session) { s.Stints[0].Minutes = new(90 + 1.0/60) },
		"an event":          func(s *journal.Session) { s.Stints[0].Events = nil },
		"storm":             func(s *journal.Session) { s.Storm = !s.Storm },
	} {
		other := s
		other.Stints = slices.Clone(s.Stints)
		change(&other)
		if got := standing(other); got != journal.Different {
			t.Errorf("with another %s an import takes it for %d", what, got)
		}
		if _, err := b.store.SaveSession(ctx, other); !errors.Is(err, journal.ErrConflict) {
			t.Errorf("with another %s: %v, want a conflict", what, err)
		}
	}
}

// Reading is no writing: what was deleted can be listed without counting a revision.
func TestListingTheDeletedCountsNoRevision(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	s := b.store1(t, b.session(t, journaltest.May1, new(60.0)))
	if err := b.store.DeleteSession(ctx, s.ID, s.Version); err != nil {
		t.Fatal(err)
	}
	before, _ := b.store.Revision(ctx)
	if list, err := b.store.DeletedSessions(ctx); err != nil || len(list) != 1 {
		t.Fatalf("%d deleted, %v", len(list), err)
	}
	if err := b.store.DeleteSession(ctx, s.ID, s.Version); err != nil {
		t.Errorf("deleted twice: %v", err)
	}
	if after, err := b.store.Revision(ctx); err != nil || after != before {
		t.Errorf("revision %d, %v; want %d", after, err, before)
	}
}

// The tables themselves refuse a session that is live and deleted at once.
func TestTheTablesRefuseLiveAndDeleted(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	kept, gone := b.store1(t, b.session(t, journaltest.May1, new(60.0))), b.store1(t, b.session(t, journaltest.May1, new(60.0)))
	if err := b.store.DeleteSession(ctx, gone.ID, 1); err != nil {
		t.Fatal(err)
	}
	conn := connect(t, b.url)
	for _, c := range []struct {
		sql string
		id  journal.ID
	}{
		{`INSERT INTO deleted_session (outfit_id, session_id, day, deleted_at, angler_id, content) SELECT outfit_id, id, day, now(), angler_id, '{}' FROM session WHERE id = $1`, kept.ID},
		{`INSERT INTO session (outfit_id, id, angler_id, water_id, day, time_zone, logged_at, version, fingerprint)
			SELECT s.outfit_id, d.session_id, s.angler_id, s.water_id, s.day, 'UTC', now(), 1, 0 FROM session s, deleted_session d WHERE d.session_id = $1`, gone.ID},
	} {
		if _, err := conn.Exec(ctx, c.sql, c.id); err == nil || !strings.Contains(err.Error(), "live_or_deleted") && !strings.Contains(err.Error(), "deleted at once") {
			t.Errorf("%s: %v", c.sql, err)
		}
	}
}

// A session that comes in with an import joins a running trial as one that was logged.
func TestAnImportJoinsARunningTrial(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	other := b.save(t, journaltest.OneDropper("Other"))
	trial, err := b.store.PlanTrial(ctx, journal.Trial{ID: journaltest.NewID(t), Name: "Either", Outcome: "tangles", Factor: "rig",
		Arms: [2]journal.TrialArm{{RigID: &b.rig.ID}, {RigID: &other.ID}}, Unit: journal.BySession, Block: 2, Worth: 1.5, MostHours: 20})
	if err != nil {
		t.Fatal(err)
	}
	u, err := b.store.StartTrialUnit(ctx, trial.ID, 1, time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	s := b.session(t, journaltest.May1, new(60.0))
	s.Version, s.LoggedAt = 1, time.Date(2026, 5, 1, 18, 0, 0, 0, time.UTC)
	s.Stints[0].RigID = *trial.Arms[u.Arm.Index()].RigID
	fresh := journal.Angler{ID: journaltest.NewID(t), Name: "ILSE", Kind: journal.Client, Active: true} // whom the journal knows
	s.AnglerID = fresh.ID
	if err := b.store.Add(ctx, journal.Addition{Anglers: []journal.Angler{fresh}, Sessions: []journal.Session{s}}, nil); err != nil {
		t.Fatal(err)
	}
	stored, err := b.store.SessionByID(ctx, s.ID)
	if err != nil || stored.AnglerID != b.angler.ID {
		t.Errorf("the session is %s's, %v; want the angler of that name", stored.AnglerID, err)
	}
	trial, err = b.store.TrialByID(ctx, trial.ID)
	if got := trial.Units[0]; err != nil || got.Status != journal.UnitKept || got.SessionID == nil || *got.SessionID != s.ID || got.Version != 2 {
		t.Errorf("the unit is %+v, %v", got, err)
	}
}

// A backup of an older program may hold a session live and deleted: it comes in live.
func TestWhatComesInLiveAndDeletedIsLive(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	s := b.session(t, journaltest.May1, new(60.0))
	s.Version, s.LoggedAt = 2, time.Date(2026, 5, 1, 18, 0, 0, 0, time.UTC)
	add := journal.Addition{Sessions: []journal.Session{s}, Deleted: []journal.DeletedSession{{Session: s, DeletedAt: time.Now()}}}
	if err := b.store.Add(t.Context(), add, nil); err != nil {
		t.Fatal(err)
	}
	if list, err := b.store.DeletedSessions(t.Context()); err != nil || len(list) != 0 {
		t.Errorf("%d deleted, %v", len(list), err)
	}
	if got, err := b.store.SessionByID(t.Context(), s.ID); err != nil || got.Version != 2 {
		t.Errorf("live is %+v, %v", got, err)
	}
}
