package pg_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

func undo(t testing.TB, s *pg.Store, id journal.ID) journal.Undone {
	t.Helper()
	u, err := s.Undo(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

func lastStep(t testing.TB, s *pg.Store) journal.Step {
	t.Helper()
	list, err := s.Steps(t.Context(), 1)
	if err != nil || len(list) != 1 {
		t.Fatalf("%d steps, %v", len(list), err)
	}
	return list[0]
}

func names(c journal.Contents) []string {
	var list []string
	for _, a := range c.Anglers {
		list = append(list, "angler "+a.Name)
	}
	for _, w := range c.Waters {
		list = append(list, "water "+w.Name)
		for _, b := range w.Beats {
			list = append(list, "beat "+w.Name+", "+b.Name)
		}
	}
	for _, r := range c.Rigs {
		list = append(list, "rig "+r.Title())
	}
	slices.Sort(list)
	return list
}

// Ensure that a session that is logged, changed, deleted and restored goes back step by step, with all that came in with it.
func TestStepsGoBackOneByOne(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	start := names(journaltest.Contents(t, b.store))
	d := journal.Draft{Session: b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(2)), Angler: "Odo", Guide: "Wido", Water: "Far Beck", Beat: "Top", Rigs: map[int]journal.Rig{0: journaltest.OneDropper("Short")}}
	d.Session.Stints[0].RigID = journal.ID{}
	first, err := b.store.LogSession(ctx, d)
	if err != nil {
		t.Fatal(err)
	}
	if st := lastStep(t, b.store); st.Kind != journal.StepLog || st.What != "Logged the session of 2026-05-01: Odo on Far Beck" || !st.Mine || st.Sessions != 1 {
		t.Errorf("the step is %+v", st)
	}
	second := first
	second.Notes = "changed"
	second = b.store1(t, second)
	if err := b.store.DeleteSession(ctx, first.ID, 0); err != nil {
		t.Fatal(err)
	}
	if err := b.store.RestoreSession(ctx, first.ID, 0); err != nil {
		t.Fatal(err)
	}
	list, err := b.store.Steps(ctx, 10)
	if err != nil || len(list) != 4 {
		t.Fatalf("%+v, %v", list, err)
	}
	undo(t, b.store, journal.ID{}) // deleted again
	if _, err := b.store.SessionByID(ctx, first.ID); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("the restored session is still there: %v", err)
	}
	undo(t, b.store, journal.ID{}) // there again
	if got, err := b.store.SessionByID(ctx, first.ID); err != nil || !got.SaysWhat(second) || got.Version != 2 {
		t.Errorf("after the deletion went back: %+v, %v", got, err)
	}
	undo(t, b.store, journal.ID{}) // as logged
	got, err := b.store.SessionByID(ctx, first.ID)
	if err != nil || got.Notes != "" || got.Version != 3 || !got.LoggedAt.Equal(first.LoggedAt) {
		t.Errorf("after the change went back: %+v, %v", got, err)
	}
	history, err := b.store.SessionHistory(ctx, first.ID)
	if err != nil || history[0].What != journal.DeedUndone || history[0].Version != 3 {
		t.Errorf("the history says %+v, %v", history, err)
	}
	// What somebody writes in between stays, and so does what the step before had written.
	other := b.store1(t, func() journal.Session { got.Notes = "by another"; return got }())
	if u, err := b.store.Undo(ctx, list[3].ID); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "changed since by the owner") {
		t.Errorf("%+v, %v", u, err)
	}
	undo(t, b.store, journal.ID{})
	if u := undo(t, b.store, journal.ID{}); u.Step.ID != list[3].ID || u.Sessions != 1 || len(u.Gone) != 5 {
		t.Errorf("as it was not logged yet: %+v", u)
	}
	if _, err := b.store.SessionByID(ctx, other.ID); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("it is still there: %v", err)
	}
	if got := names(journaltest.Contents(t, b.store)); !slices.Equal(got, start) {
		t.Errorf("left are %v, want %v", got, start)
	}
	if _, err := b.store.Undo(ctx, list[0].ID); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "already") {
		t.Errorf("a step was taken back twice: %v", err)
	}
}

// Ensure that what came in with a session goes with it, and comes back with it.
func TestWhatAStepMadeGoesWithIt(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	start := names(journaltest.Contents(t, b.store))
	d := journal.Draft{Session: b.session(t, journaltest.May1, new(60.0)), Angler: "Odo", Guide: "Wido", Water: "Far Beck", Beat: "Top", Rigs: map[int]journal.Rig{0: journaltest.OneDropper("Short")}}
	d.Session.Stints[0].RigID = journal.ID{}
	first, err := b.store.LogSession(ctx, d)
	if err != nil {
		t.Fatal(err)
	}
	full := journaltest.Contents(t, b.store)
	u := undo(t, b.store, journal.ID{})
	if u.Sessions != 1 || len(u.Gone) != 5 || len(u.Left) > 0 || u.Step.UndoneAt == nil {
		t.Errorf("undone: %+v", u)
	}
	if got := names(journaltest.Contents(t, b.store)); !slices.Equal(got, start) {
		t.Errorf("left are %v, want %v", got, start)
	}
	// Someone else has the name of the water by now.
	water, _, err := b.store.WaterNamed(ctx, "far beck", "")
	if err != nil {
		t.Fatal(err)
	}
	if err := b.store.RestoreSession(ctx, first.ID, 0); err != nil {
		t.Fatal(err)
	}
	got, err := b.store.SessionByID(ctx, first.ID)
	if err != nil || got.AnglerID != first.AnglerID || got.WaterID != water.ID || got.Stints[0].RigID != first.Stints[0].RigID {
		t.Errorf("back is %+v, %v", got, err)
	}
	if rig, err := b.store.RigByID(ctx, first.Stints[0].RigID); err != nil || !rig.Equal(full.Rigs[1]) && !rig.Equal(full.Rigs[0]) {
		t.Errorf("the rig came back as %+v, %v", rig, err)
	}
	// What others use stays.
	d.Session = b.session(t, journaltest.May1, new(60.0))
	d.Session.Stints[0].RigID, d.Angler, d.Water, d.Beat, d.Guide = journal.ID{}, "Ada", "", "", ""
	if _, err := b.store.LogSession(ctx, d); err != nil {
		t.Fatal(err)
	}
	logged := lastStep(t, b.store)
	ada, err := b.store.AnglerByName(ctx, "Ada")
	if err != nil {
		t.Fatal(err)
	}
	next := b.session(t, journaltest.May1, nil)
	next.AnglerID = ada.ID
	b.store1(t, next)
	if u := undo(t, b.store, logged.ID); u.Sessions != 1 || len(u.Gone) > 0 {
		t.Errorf("undone: %+v", u)
	}
	recounted(t, b.store)
}

func recounted(t testing.TB, s *pg.Store) {
	t.Helper()
	if r, err := s.Recount(t.Context(), false, nil); err != nil || r.Wrong > 0 {
		t.Errorf("counted again: %+v, %v", r, err)
	}
}

// addition is an import of new sessions, with an angler and a rig of their own.
func (b bench) addition(t testing.TB, n int) journal.Addition {
	angler := journal.Angler{ID: journal.NewID(), Name: "Imported", Kind: journal.Client, Active: true}
	rig := journaltest.OneDropper("Imported")
	rig.ID, rig.Revision, rig.Version = journal.NewID(), 1, 1
	a := journal.Addition{Anglers: []journal.Angler{angler}, Rigs: []journal.Rig{rig}, Told: fmt.Sprintf("Imported season.csv: %d sessions", n), Step: journal.NewID()}
	for range n {
		s := b.session(t, journaltest.May1, new(30.0), journaltest.Tangles(1))
		s.AnglerID, s.Stints[0].RigID, s.Version = angler.ID, rig.ID, 1
		a.Sessions = append(a.Sessions, s)
	}
	return a
}

// Ensure that an import goes back whole, but for what was written since, and that importing it once more brings it back.
func TestAnImportGoesBackWhole(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	known := b.store1(t, b.session(t, journaltest.May1, new(60.0)))
	start := names(journaltest.Contents(t, b.store))
	a := b.addition(t, 2500)
	grown := known
	grown.Notes, grown.Version = "corrected", 2
	a.Sessions, a.Replaced = append(a.Sessions, grown), map[journal.ID]int{known.ID: 1}
	if err := b.store.Add(ctx, a, nil); err != nil {
		t.Fatal(err)
	}
	st := lastStep(t, b.store)
	if st.ID != a.Step || st.What != a.Told || st.Sessions != 2501 {
		t.Errorf("the step is %+v", st)
	}
	edited := a.Sessions[7]
	edited.Notes = "by hand"
	edited = b.store1(t, edited)
	if err := b.store.DeleteSession(ctx, a.Sessions[8].ID, 0); err != nil {
		t.Fatal(err)
	}
	u := undo(t, b.store, a.Step)
	if u.Sessions != 2499 || len(u.Left) != 1 || !strings.Contains(u.Left[0], "2026-05-01 was changed since by the owner") || len(u.Gone) > 0 {
		t.Errorf("undone: %d sessions, left %v, gone %v", u.Sessions, u.Left, u.Gone)
	}
	if lines, n, err := b.store.SessionLines(ctx, journal.SessionFilter{}); err != nil || n != 2 {
		t.Errorf("%d sessions, %v, %v", n, lines, err)
	}
	if got, err := b.store.SessionByID(ctx, known.ID); err != nil || got.Notes != "" || got.Version != 3 {
		t.Errorf("the replaced session is %+v, %v", got, err)
	}
	f, err := b.store.Facts(ctx)
	if err != nil || f.Sessions() != 2 {
		t.Errorf("facts of %d sessions, %v", f.Sessions(), err)
	}
	if err := b.store.DeleteSession(ctx, edited.ID, 0); err != nil {
		t.Fatal(err)
	}
	again := b.addition(t, 0)
	again.Sessions, again.Step = a.Sessions[:2500], journal.NewID()
	again.Anglers[0].ID, again.Rigs = journal.NewID(), nil
	for i := range again.Sessions {
		again.Sessions[i].AnglerID = again.Anglers[0].ID
	}
	if err := b.store.Add(ctx, again, nil); err != nil {
		t.Fatal(err)
	}
	if u := undo(t, b.store, journal.ID{}); u.Sessions != 2500 || u.Step.ID != again.Step {
		t.Errorf("the second: %+v", u.Step)
	}
	if got := names(journaltest.Contents(t, b.store)); len(got) != len(start)+2 {
		t.Errorf("left are %v", got)
	}
	recounted(t, b.store)
	neverBoth(t, b.url)
}

// Ensure that nobody sees, takes back, renames or merges what is not theirs, and clients only their own sessions.
func TestStepsAreApart(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	ctx := t.Context()
	house := lastStep(t, p.bench.store)
	for i, s := range p.stores {
		list, err := s.Steps(ctx, 10)
		if err != nil || len(list) != 1 || strings.Contains(fmt.Sprint(list), secretOf(1-i)) || !list[0].Mine {
			t.Errorf("client %d sees the steps %+v, %v", i, list, err)
		}
		if _, err := s.Undo(ctx, house.ID); i == 0 && !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("client %d took back %+v: %v", i, house, err)
		}
		own := journal.Thing{Kind: journal.ThingWater, ID: p.fished[i].WaterID}
		if _, err := s.Rename(ctx, own, "Taken"); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("client %d renamed: %v", i, err)
		}
		if _, err := s.Merge(ctx, own, journal.Thing{Kind: journal.ThingWater, ID: p.fished[1-i].WaterID}); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("client %d merged: %v", i, err)
		}
		if err := s.KeepReading(ctx, []string{"a"}, []byte(`{}`)); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("client %d keeps a reading: %v", i, err)
		}
		if _, err := s.FindID(ctx, pg.ListSessions, p.fished[1-i].ID.String()); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("client %d finds another's session: %v", i, err)
		}
	}
	u := undo(t, p.stores[0], journal.ID{})
	if u.Sessions != 1 || len(u.Gone) != 3 {
		t.Errorf("client 0 took back %+v", u)
	}
	if _, err := p.stores[0].SessionByID(ctx, p.fished[0].ID); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("it is still there: %v", err)
	}
	if err := p.stores[0].RestoreSession(ctx, p.fished[0].ID, 0); err != nil {
		t.Errorf("client 0 brings it back: %v", err)
	}
	other, err := p.bench.store.AddOutfit(ctx, "The other")
	if err != nil {
		t.Fatal(err)
	}
	stranger := p.bench.store.In(other, journal.Keeper())
	if list, err := stranger.Steps(ctx, 10); err != nil || len(list) > 0 {
		t.Errorf("another outfit sees %+v, %v", list, err)
	}
	for _, st := range []journal.ID{house.ID, u.Step.ID} {
		if _, err := stranger.Undo(ctx, st); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("another outfit took a step back: %v", err)
		}
	}
	if _, err := stranger.Merge(ctx, journal.Thing{Kind: journal.ThingAngler, ID: p.clients[0].ID}, journal.Thing{Kind: journal.ThingAngler, ID: p.clients[1].ID}); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("another outfit merged anglers: %v", err)
	}
	// A guide takes back what the guide did, before what the owner did later.
	guide := p.bench.store.For(journal.Who{Role: journal.RoleGuide, Name: "Guide", Person: new(journal.NewID())})
	s, err := guide.SaveSession(ctx, p.session(t, journaltest.May1, nil))
	if err != nil {
		t.Fatal(err)
	}
	p.store1(t, p.session(t, journaltest.May1, nil))
	if u := undo(t, guide, journal.ID{}); u.Sessions != 1 {
		t.Errorf("the guide took back %+v", u)
	}
	if _, err := guide.SessionByID(ctx, s.ID); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("the guide's session is still there: %v", err)
	}
}

// Ensure that what is older than 30 days can't be taken back, and goes.
func TestOldStepsGo(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, nil))
	old := lastStep(t, b.store)
	if _, err := connect(t, b.url).Exec(t.Context(), `UPDATE step SET at = at - interval '31 days'`); err != nil {
		t.Fatal(err)
	}
	if _, err := b.store.Undo(t.Context(), old.ID); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "30 days") {
		t.Errorf("an old step: %v", err)
	}
	tomorrow, err := pg.Open(t.Context(), b.url) // a program looks once a day
	if err != nil {
		t.Fatal(err)
	}
	defer tomorrow.Close()
	if _, err := tomorrow.SaveSession(t.Context(), b.session(t, journaltest.May1, nil)); err != nil {
		t.Fatal(err)
	}
	var n int
	if err := connect(t, b.url).QueryRow(t.Context(), `SELECT count(*) FROM step_session`).Scan(&n); err != nil || n != 1 {
		t.Errorf("%d sessions of steps are kept, %v", n, err)
	}
}

// Ensure that ids are found by their beginnings, and told by the shortest.
func TestIDsByTheirBeginnings(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	ids := []string{"0196fa2c-1b00-7000-8000-000000000001", "0196fa2c-1b00-7000-8000-000000000002", "0196fa2d-1b00-7000-8000-000000000003", "f196fa2d-1b00-7000-8000-000000000003"}
	short := []string{ids[0], ids[1], "0196fa2d", "f196"}
	var all []journal.ID
	for _, text := range ids {
		id, err := journal.ParseID(text)
		if err != nil {
			t.Fatal(err)
		}
		s := b.session(t, journaltest.May1, nil)
		s.ID = id
		b.store1(t, s)
		all = append(all, id)
	}
	got, err := b.store.Beginnings(ctx, pg.ListSessions, all)
	for i, id := range all {
		if err != nil || got[id] != short[i] {
			t.Errorf("%s is told as %q, %v; want %q", id, got[id], err, short[i])
		}
		if found, err := b.store.FindID(ctx, pg.ListSessions, strings.ToUpper(short[i])); err != nil || found != id {
			t.Errorf("%s finds %s, %v", short[i], found, err)
		}
	}
	_, err = b.store.FindID(ctx, pg.ListSessions, "0196")
	if !journal.IsInvalid(err) || !strings.Contains(err.Error(), "0196fa2d (2026-05-01, Ilse on Alder Brook)") {
		t.Errorf("of several: %v", err)
	}
	for _, wrong := range []string{"019", "019g", ids[0] + "0", "last"} {
		if _, err := b.store.FindID(ctx, pg.ListSessions, wrong); !journal.IsInvalid(err) {
			t.Errorf("%q: %v", wrong, err)
		}
	}
	for _, kind := range []pg.ListKind{pg.ListSessions, pg.ListDeleted, pg.ListRigs, pg.ListClaims, pg.ListTrials, pg.ListPulls, pg.ListSteps, pg.ListAnglers, pg.ListWaters, pg.ListRules} {
		if _, err := b.store.FindID(ctx, kind, "aaaa"); !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("a %s that is not there: %v", kind, err)
		}
		if short, err := b.store.Beginnings(ctx, kind, all); err != nil || len(short) != len(all) {
			t.Errorf("beginnings of a %s: %v, %v", kind, short, err)
		}
	}
}

// Ensure that what was chosen for a sheet is known by its headers.
func TestReadings(t *testing.T) {
	t.Parallel()
	s := journaltest.Store(t)
	headers := []string{"Member", "Day"}
	for _, rules := range []string{`[{"header": "Member"}]`, `[]`} {
		if err := s.KeepReading(t.Context(), headers, []byte(rules)); err != nil {
			t.Fatal(err)
		}
		if got, known, err := s.Reading(t.Context(), []string{" member", "DAY"}); err != nil || !known || string(got) != rules {
			t.Errorf("read %s, %v, %v; want %s", got, known, err, rules)
		}
	}
	if _, known, err := s.Reading(t.Context(), []string{"Day", "Member"}); err != nil || known {
		t.Errorf("in another order: known %v, %v", known, err)
	}
	for range 2 {
		if err := s.ForgetReading(t.Context(), headers); err != nil {
			t.Fatal(err)
		}
	}
	if _, known, err := s.Reading(t.Context(), headers); err != nil || known {
		t.Errorf("forgotten: known %v, %v", known, err)
	}
}
