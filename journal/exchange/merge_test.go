package exchange_test

import (
	"errors"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
	"rigtally/journal/sheet"
)

func plan(t *testing.T, store *pg.Store, from journal.Contents, how exchange.MergeOptions) *exchange.Merge {
	t.Helper()
	m, err := exchange.PlanMerge(t.Context(), store, from, how)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func bringIn(t *testing.T, store *pg.Store, m *exchange.Merge) exchange.Result {
	t.Helper()
	r, err := m.Write(t.Context(), store, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Ensure that two journals that were kept apart meet by names where their ids differ, that a rig tied otherwise under the same
// name comes beside the journal's, that nothing is written twice, and that one step takes all of it back.
func TestJournalsMeet(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	here, there := journaltest.Store(t), journaltest.Store(t)
	journaltest.Import(t, here, "date,angler,water,beat,rig,junction,tag_mm\n2025-04-01,Mara,Tessel,Glide,Long,blood,150\n2025-04-02,Mara,Tessel,,Short,ring,100\n", sheet.Options{})
	journaltest.Import(t, there, "date,angler,water,beat,rig,junction,tag_mm\n2025-05-01,MARA,tessel,glide,Long,blood,170\n2025-05-02,Orrin,Tessel,Head,short,ring,100\n", sheet.Options{})
	before := journaltest.Contents(t, here)
	m := plan(t, here, journaltest.Contents(t, there), exchange.MergeOptions{From: "other.jsonl"})
	shown := strings.Join(m.Preview().Lines(0), "\n")
	for _, want := range []string{"This would add 2 sessions with 2 stints.", "1 angler is new to the journal: Orrin.", "1 beat is new to the journal: Head on Tessel.",
		"  the angler MARA", "  the water tessel", "  the beat glide on Tessel", "  the rig short", "the rig Long, as Long (2), since it is tied otherwise"} {
		if !strings.Contains(shown, want) {
			t.Errorf("shown is\n%s\nwithout %q", shown, want)
		}
	}
	if got := journaltest.Contents(t, here); len(got.Sessions) != 2 {
		t.Fatal("the preview wrote something")
	}
	r := bringIn(t, here, m)
	after := journaltest.Contents(t, here)
	if r.Added != 2 || r.Step.IsZero() || len(after.Sessions) != 4 || len(after.Anglers) != 2 || len(after.Waters) != 1 || len(after.Rigs) != 3 {
		t.Fatalf("did %+v: %d anglers, %d rigs", r, len(after.Anglers), len(after.Rigs))
	}
	tags := map[string]float64{}
	for _, rig := range after.Rigs {
		tags[rig.Name] = *rig.Positions[len(rig.Positions)-1].TagLengthMM
	}
	for _, s := range after.Sessions {
		for _, rig := range after.Rigs {
			if s.Day.String() == "2025-05-01" && s.Stints[0].RigID == rig.ID && rig.Name != "Long (2)" {
				t.Errorf("the session that came was fished with %s", rig.Name)
			}
		}
	}
	if tags["Long"] != 150 || tags["Long (2)"] != 170 {
		t.Errorf("the tags are %v", tags)
	}
	again := plan(t, here, journaltest.Contents(t, there), exchange.MergeOptions{})
	if p := again.Preview(); p.Writes || p.Differs > 0 {
		t.Errorf("a second time it would do\n%s", strings.Join(p.Lines(0), "\n"))
	}
	if _, err := here.Undo(ctx, r.Step); err != nil {
		t.Fatal(err)
	}
	back := journaltest.Contents(t, here)
	if len(back.Sessions) != 2 || len(back.Anglers) != len(before.Anglers) || len(back.Rigs) != len(before.Rigs) || len(back.Waters[0].Beats) != 1 {
		t.Errorf("taken back, there are %d sessions, %d anglers, %d rigs", len(back.Sessions), len(back.Anglers), len(back.Rigs))
	}
}

// Ensure that of a session that both tell otherwise the journal's stays or, if asked for, the backup's becomes its next version,
// with the history and the way back; and that what was deleted comes back.
func TestBackupIntoAJournalInUse(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	store := journaltest.Store(t)
	journaltest.Import(t, store, "date,angler,water,rig,junction,tag_mm,notes\n2025-04-01,Mara,Tessel,Long,blood,150,one\n2025-04-02,Mara,Tessel,Long,blood,150,two\n2025-04-03,Mara,Tessel,Long,blood,150,three\n", sheet.Options{})
	backup := journaltest.Contents(t, store)
	edited := backup.Sessions[0]
	edited.Notes = "told otherwise since"
	edited, err := store.SaveSession(ctx, edited)
	if err != nil {
		t.Fatal(err)
	}
	if err := store.DeleteSession(ctx, backup.Sessions[1].ID, 0); err != nil {
		t.Fatal(err)
	}
	kept := plan(t, store, backup, exchange.MergeOptions{})
	shown := strings.Join(kept.Preview().Lines(0), "\n")
	for _, want := range []string{"This would add 1 session with 1 stint; 1 session is there already.", "Deleted in the journal, and would come back:\n  2025-04-02, Mara on Tessel",
		"stay as they are there:\n  2025-04-01, Mara on Tessel: notes on the session (version 2 in the journal, 1 in the backup; the journal's is newer)"} {
		if !strings.Contains(shown, want) {
			t.Errorf("shown is\n%s\nwithout %q", shown, want)
		}
	}
	take := plan(t, store, backup, exchange.MergeOptions{Take: true})
	if _, err := store.SaveSession(ctx, func() journal.Session { s := edited; s.Notes = "and again"; return s }()); err != nil {
		t.Fatal(err)
	}
	if _, err := take.Write(ctx, store, nil); !errors.Is(err, journal.ErrConflict) {
		t.Errorf("a plan for a journal that was written since gave %v", err)
	}
	if r := bringIn(t, store, plan(t, store, backup, exchange.MergeOptions{})); r.Returned != 1 || len(r.Differ) != 1 {
		t.Errorf("did %+v", r)
	}
	r := bringIn(t, store, plan(t, store, backup, exchange.MergeOptions{Take: true}))
	held, err := store.SessionByID(ctx, edited.ID)
	if err != nil || r.Updated != 1 || held.Notes != backup.Sessions[0].Notes || held.Version != 4 {
		t.Errorf("did %+v; the session is version %d with %q, %v", r, held.Version, held.Notes, err)
	}
	if _, err := store.Undo(ctx, r.Step); err != nil {
		t.Fatal(err)
	}
	if held, err = store.SessionByID(ctx, edited.ID); err != nil || held.Notes != "and again" {
		t.Errorf("taken back it has %q, %v", held.Notes, err)
	}
}
