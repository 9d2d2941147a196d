package pg_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/gauge"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

func byID(kind journal.ThingKind, id journal.ID) journal.Thing {
	return journal.Thing{Kind: kind, ID: id}
}

func merge(t testing.TB, s *pg.Store, from, into journal.Thing) journal.Changed {
	t.Helper()
	c, err := s.Merge(t.Context(), from, into)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// state is all that a journal says, but for versions of what is not a session.
func state(t testing.TB, s *pg.Store) string {
	t.Helper()
	c := journaltest.Contents(t, s)
	for i := range c.Rigs {
		c.Rigs[i].Version = 0
	}
	for i := range c.Claims {
		c.Claims[i].Version = 0
	}
	for i := range c.Pulls {
		c.Pulls[i].Version = 0
	}
	for i := range c.Trials {
		c.Trials[i].Version = 0
	}
	text, err := json.MarshalIndent(c, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// factsAre holds the facts that the store kept through a change against those read anew.
func factsAre(t testing.TB, b bench) {
	t.Helper()
	kept, err := b.store.Facts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	fresh, err := pg.Open(t.Context(), b.url)
	if err != nil {
		t.Fatal(err)
	}
	defer fresh.Close()
	anew, err := fresh.Facts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range []string{"angler", "water", "beat", "rig", "junction"} {
		factor, err := journal.FactorByKey(f)
		if err != nil {
			t.Fatal(err)
		}
		outcome, err := journal.OutcomeByKey("tangles")
		if err != nil {
			t.Fatal(err)
		}
		ask := func(of *facts.Facts) map[string]float64 {
			a, err := of.Ask(journal.Question{Outcome: outcome, By: []journal.By{{Factor: factor}}})
			if err != nil {
				t.Fatal(err)
			}
			sums := map[string]float64{}
			for _, g := range a.Groups {
				sums[fmt.Sprint(g.Level)] = g.K
			}
			return sums
		}
		if was, is := ask(kept), ask(anew); !reflect.DeepEqual(was, is) {
			t.Errorf("facts by %s that were kept say %v, read anew %v", f, was, is)
		}
	}
}

// Ensure that two anglers become one with all that names them, and two again.
func TestMergeAnglers(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	for _, name := range []string{"J. Felt", "Jon Felt"} {
		if _, err := b.store.AnglerNamed(ctx, name); err != nil {
			t.Fatal(err)
		}
	}
	right, _ := b.store.AnglerByName(ctx, "J. Felt")
	wrong, _ := b.store.AnglerByName(ctx, "Jon Felt")
	log := func(angler journal.ID, guide *journal.ID) journal.Session {
		s := b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(1))
		s.AnglerID, s.GuideID = angler, guide
		return b.store1(t, s)
	}
	own, theirs, guided, deleted := log(right.ID, nil), log(wrong.ID, nil), log(b.angler.ID, &wrong.ID), log(wrong.ID, nil)
	if err := b.store.DeleteSession(ctx, deleted.ID, 0); err != nil {
		t.Fatal(err)
	}
	pull := journal.BenchPull{ID: journal.NewID(), Day: journaltest.May1, AnglerID: &wrong.ID, Junction: "blood", TippetMM: 0.127, ForceN: 12, Ending: journal.PulledBroke}
	if _, err := b.store.SaveBenchPull(ctx, pull); err != nil {
		t.Fatal(err)
	}
	claim := ownClaim(t)
	claim.Factor, claim.Level, claim.Versus, claim.Given = "angler", []string{"Jon Felt"}, []string{"Ilse"}, nil
	claim = saveClaim(t, b.store, claim)
	if _, err := b.store.Facts(ctx); err != nil {
		t.Fatal(err)
	}
	before := state(t, b.store)

	c := merge(t, b.store, byID(journal.ThingAngler, wrong.ID), byID(journal.ThingAngler, right.ID))
	if c.Sessions != 2 || c.Pulls != 1 || c.Told != "Merged the angler Jon Felt into J. Felt: 2 sessions moved and 1 bench pull" {
		t.Errorf("%+v", c)
	}
	for id, want := range map[journal.ID][2]journal.ID{own.ID: {right.ID}, theirs.ID: {right.ID}, guided.ID: {b.angler.ID, right.ID}} {
		got, err := b.store.SessionByID(ctx, id)
		if err != nil || got.AnglerID != want[0] || (got.GuideID != nil) != !want[1].IsZero() || got.GuideID != nil && *got.GuideID != want[1] || got.Version != 1 {
			t.Errorf("a session is %+v, %v", got, err)
		}
	}
	history, err := b.store.SessionHistory(ctx, theirs.ID)
	if err != nil || history[0].What != journal.DeedMerged || history[0].Version != 1 {
		t.Errorf("history %+v, %v", history, err)
	}
	if got, err := b.store.BenchPullByID(ctx, pull.ID); err != nil || *got.AnglerID != right.ID {
		t.Errorf("the pull is %+v, %v", got, err)
	}
	if got, err := b.store.ClaimByID(ctx, claim.ID); err != nil || got.Level[0] != "J. Felt" || got.Version != claim.Version+1 {
		t.Errorf("the claim is %+v, %v", got, err)
	}
	if got, err := b.store.AnglerNamed(ctx, "jon felt"); err != nil || got.ID != right.ID {
		t.Errorf("the former name is %+v, %v", got, err)
	}
	factsAre(t, b)
	// What a phone has queued with the former id, and who has the form open, go on.
	queued := b.session(t, journaltest.May1, new(20.0))
	queued.AnglerID = wrong.ID
	if got := b.store1(t, queued); got.AnglerID != right.ID {
		t.Errorf("what was queued is %+v", got)
	}
	if got := b.store1(t, queued); got.Version != 1 {
		t.Errorf("sent again it is %+v", got)
	}
	edit := theirs
	edit.Notes = "open in a form meanwhile"
	if got := b.store1(t, edit); got.AnglerID != right.ID || got.Version != 2 {
		t.Errorf("the edit is %+v", got)
	}
	if err := b.store.RestoreSession(ctx, deleted.ID, 0); err != nil {
		t.Fatal(err)
	}
	if got, err := b.store.SessionByID(ctx, deleted.ID); err != nil || got.AnglerID != right.ID {
		t.Errorf("the deleted one is back as %+v, %v", got, err)
	}
	if err := b.store.DeleteSession(ctx, deleted.ID, 0); err != nil {
		t.Fatal(err)
	}
	if err := b.store.DeleteSession(ctx, guided.ID, 0); err != nil {
		t.Fatal(err)
	}
	directory, err := b.store.Directory(ctx)
	if err != nil || len(directory.Aliases) != 1 || directory.Aliases[0].Name != "Jon Felt" || *directory.Aliases[0].Of != right.ID || *directory.Aliases[0].Was != wrong.ID {
		t.Errorf("aliases %+v, %v", directory.Aliases, err)
	}

	u := undo(t, b.store, c.Step)
	if u.Sessions != 1 || len(u.Left) > 0 {
		t.Errorf("undone: %+v", u)
	}
	if got, err := b.store.SessionByID(ctx, theirs.ID); err != nil || got.AnglerID != wrong.ID || got.Notes != edit.Notes || got.Version != 2 {
		t.Errorf("the edited one is %+v, %v", got, err)
	}
	for _, id := range []journal.ID{guided.ID, deleted.ID} {
		if err := b.store.RestoreSession(ctx, id, 0); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := b.store.SessionByID(ctx, guided.ID); err != nil || *got.GuideID != wrong.ID {
		t.Errorf("the guided one is %+v, %v", got, err)
	}
	if err := b.store.DeleteSession(ctx, queued.ID, 0); err != nil {
		t.Fatal(err)
	}
	factsAre(t, b)
	recounted(t, b.store)
	if got, err := b.store.AnglerNamed(ctx, "jon felt"); err != nil || got.ID != wrong.ID {
		t.Errorf("the name is %+v, %v", got, err)
	}
	_ = before
}

// Ensure that a merge of each kind goes back to what was there before.
func TestMergesGoBack(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	river, beat, err := b.store.WaterNamed(ctx, "Alder Bk", "mill run")
	if err != nil {
		t.Fatal(err)
	}
	_, lower, err := b.store.WaterNamed(ctx, "Alder Bk", "Lower")
	if err != nil {
		t.Fatal(err)
	}
	river.Gauges, river.Beats = []gauge.Link{{Site: gauge.NewSite(gauge.USGS, "01234567")}}, nil
	if err := b.store.SaveWater(ctx, river); err != nil {
		t.Fatal(err)
	}
	twin := journaltest.OneDropper("Blood, 165 mm")
	twin.Positions = slices.Clone(twin.Positions)
	twin.Positions[0].HookSize, twin.Positions[1].TagLengthMM = nil, nil
	twin = b.save(t, twin)
	knotted := func(name, knot string) journal.Rig {
		rig := journaltest.OneDropper(name)
		rig.Positions[1].Junction, rig.Positions[1].JunctionName = journal.JunctionOther, knot
		return b.save(t, rig)
	}
	orvis, duncan := knotted("Own", "Barrel"), knotted("Other own", "Duncan loop")
	log := func(water journal.ID, on *journal.ID, rig journal.Rig, events ...journal.Event) journal.Session {
		s := b.session(t, journaltest.May1, new(60.0), append(events, journaltest.Tangles(1))...)
		s.WaterID, s.BeatID, s.Stints[0].RigID = water, on, rig.ID
		return b.store1(t, s)
	}
	log(b.water.ID, &b.beat, b.rig, on(1, cut(20, new(10))))
	upper := log(river.ID, beat, b.rig)
	log(river.ID, lower, orvis)
	log(river.ID, nil, duncan)
	stint := log(b.water.ID, nil, twin, on(1, cut(20, new(10))))
	claim := ownClaim(t)
	claim.Factor, claim.Level, claim.Versus, claim.Given = "beat", []string{"Alder Bk, Lower"}, []string{"Alder Brook, Mill Run"}, nil
	saveClaim(t, b.store, claim)
	knots := ownClaim(t)
	knots.ID, knots.Words, knots.Factor, knots.Level, knots.Versus, knots.Given = journal.NewID(), "Barrels last", "junction", []string{"Barrel"}, []string{"uni"}, nil
	saveClaim(t, b.store, knots)
	trial, err := b.store.PlanTrial(ctx, journal.Trial{ID: journal.NewID(), Name: "Knots", Outcome: "tangles", Factor: "junction", Arms: [2]journal.TrialArm{{Level: "Barrel"}, {Level: "uni"}}, Unit: journal.ByStint, Block: 4, Worth: 1.5, MostHours: 60})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.store.PlanTrial(ctx, journal.Trial{ID: journal.NewID(), Name: "Rigs", Outcome: "tangles", Factor: "rig", Arms: [2]journal.TrialArm{{RigID: &twin.ID}, {RigID: &orvis.ID}}, Unit: journal.ByStint, Block: 4, Worth: 1.5, MostHours: 60}); err != nil {
		t.Fatal(err)
	}
	if err := b.store.SetUsualRig(ctx, twin.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := b.store.Facts(ctx); err != nil {
		t.Fatal(err)
	}
	knot := func(name string) journal.Thing { return journal.Thing{Kind: journal.ThingKnot, Name: name} }
	for _, m := range []struct {
		name       string
		from, into journal.Thing
		told       string
		check      func(journal.Contents) bool
	}{
		{"waters", byID(journal.ThingWater, river.ID), byID(journal.ThingWater, b.water.ID), "3 sessions moved", func(c journal.Contents) bool {
			got, err := b.store.SessionByID(ctx, upper.ID)
			return err == nil && len(c.Waters) == 1 && len(c.Waters[0].Beats) == 2 && len(c.Waters[0].Gauges) == 1 && c.Waters[0].Gauges[0].Number == "01234567" && *got.BeatID == b.beat && got.WaterID == b.water.ID && len(c.Aliases) == 3
		}},
		{"beats", byID(journal.ThingBeat, *beat), byID(journal.ThingBeat, *lower), "1 session moved", func(c journal.Contents) bool {
			got, err := b.store.SessionByID(ctx, upper.ID)
			return err == nil && *got.BeatID == *lower
		}},
		{"rigs", byID(journal.ThingRig, twin.ID), byID(journal.ThingRig, b.rig.ID), "1 session moved", func(c journal.Contents) bool {
			got, err := b.store.SessionByID(ctx, stint.ID)
			f, wrong := b.store.LatestRig(ctx, twin.Name)
			return err == nil && wrong == nil && got.Stints[0].RigID == b.rig.ID && f.ID == b.rig.ID && c.Usual != nil && c.Usual.RigID == b.rig.ID
		}},
		{"own knots", knot("barrel"), knot("duncan LOOP"), "on 1 rig", func(c journal.Contents) bool {
			own, err := b.store.OwnKnots(ctx)
			moved, wrong := b.store.TrialByID(ctx, trial.ID)
			return err == nil && wrong == nil && slices.Equal(own, []string{"Duncan loop"}) && moved.Arms[0].Level == "Duncan loop" && b.store.CheckTrialSeal(ctx, trial.ID) == nil
		}},
		{"an own knot and a known one", knot("Barrel"), knot("Blood"), "Merged the knot Barrel into blood, on 1 rig", func(c journal.Contents) bool {
			rig, err := b.store.RigByID(ctx, orvis.ID)
			return err == nil && rig.Positions[1].Junction == "blood" && rig.Positions[1].JunctionName == ""
		}},
	} {
		before := state(t, b.store)
		c := merge(t, b.store, m.from, m.into)
		if !strings.Contains(c.Told, m.told) || !m.check(journaltest.Contents(t, b.store)) {
			t.Errorf("%s: %+v\n%s", m.name, c, state(t, b.store))
		}
		factsAre(t, b)
		recounted(t, b.store)
		if u := undo(t, b.store, journal.ID{}); u.Step.ID != c.Step || len(u.Left) > 0 || u.Sessions != len(slices.Repeat([]int{0}, c.Sessions)) && m.from.Kind != journal.ThingKnot {
			t.Errorf("%s taken back: %+v", m.name, u)
		}
		if after := state(t, b.store); after != before {
			t.Errorf("%s taken back: %s", m.name, journaltest.FirstDifference(before, after))
		}
		factsAre(t, b)
		recounted(t, b.store)
	}
}

// Ensure that merges rest on one another: the first can't go back before the second, and names lead to what there is.
func TestMergesInARow(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	var anglers []journal.Angler
	for _, name := range []string{"One", "Two", "Three"} {
		a, err := b.store.AnglerNamed(ctx, name)
		if err != nil {
			t.Fatal(err)
		}
		anglers = append(anglers, a)
	}
	s := b.session(t, journaltest.May1, new(60.0))
	s.AnglerID = anglers[0].ID
	b.store1(t, s)
	first := merge(t, b.store, byID(journal.ThingAngler, anglers[0].ID), byID(journal.ThingAngler, anglers[1].ID))
	second := merge(t, b.store, byID(journal.ThingAngler, anglers[1].ID), byID(journal.ThingAngler, anglers[2].ID))
	if a, err := b.store.AnglerNamed(ctx, "one"); err != nil || a.ID != anglers[2].ID {
		t.Errorf("One is %+v, %v", a, err)
	}
	next := b.session(t, journaltest.May1, new(60.0))
	next.AnglerID = anglers[0].ID
	if got := b.store1(t, next); got.AnglerID != anglers[2].ID {
		t.Errorf("the queued one is %+v", got)
	}
	if u, err := b.store.Undo(ctx, first.Step); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "take that back first") {
		t.Errorf("the first went back before the second: %+v, %v", u, err)
	}
	undo(t, b.store, second.Step)
	if a, err := b.store.AnglerNamed(ctx, "one"); err != nil || a.ID != anglers[1].ID {
		t.Errorf("One is %+v, %v", a, err)
	}
	if _, err := b.store.AnglerNamed(ctx, "Two and a half"); err != nil {
		t.Fatal(err)
	}
	undo(t, b.store, first.Step)
	if got, err := b.store.SessionByID(ctx, s.ID); err != nil || got.AnglerID != anglers[0].ID {
		t.Errorf("the session is %+v, %v", got, err)
	}
	third := merge(t, b.store, byID(journal.ThingAngler, anglers[0].ID), byID(journal.ThingAngler, anglers[1].ID))
	if err := b.store.SaveAngler(ctx, journal.Angler{ID: journal.NewID(), Name: "ONE", Kind: journal.Client, Active: true}); err != nil {
		t.Fatal(err)
	}
	if u, err := b.store.Undo(ctx, third.Step); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "another angler is called One by now") {
		t.Errorf("the name is taken: %+v, %v", u, err)
	}
}

// Ensure that a client who is merged with an angler of the outfit sees the sessions of both, their history and what was
// deleted; that two accounts stay two; and that a guide merges nobody who signs in.
func TestMergeAClient(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	ctx := t.Context()
	store := p.bench.store
	s := p.session(t, journaltest.May1, new(30.0))
	s = p.store1(t, s)
	gone := p.store1(t, p.session(t, journaltest.May1, new(30.0)))
	if err := store.DeleteSession(ctx, gone.ID, 0); err != nil {
		t.Fatal(err)
	}
	merge(t, store, byID(journal.ThingAngler, p.angler.ID), byID(journal.ThingAngler, p.clients[0].ID))
	if _, err := p.stores[0].SessionByID(ctx, s.ID); err != nil {
		t.Errorf("the client sees it not: %v", err)
	}
	if history, err := p.stores[0].SessionHistory(ctx, s.ID); err != nil || len(history) != 2 {
		t.Errorf("the client sees the history %+v, %v", history, err)
	}
	if list, err := p.stores[0].DeletedSessions(ctx); err != nil || len(list) != 1 {
		t.Errorf("the client sees deleted %+v, %v", list, err)
	}
	if _, err := p.stores[1].SessionByID(ctx, s.ID); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("the other client sees it: %v", err)
	}
	if err := p.stores[0].RestoreSession(ctx, gone.ID, 0); err != nil {
		t.Errorf("the client can't restore it: %v", err)
	}
	// A client's phone sends the id of what the outfit has merged.
	into, _, err := store.WaterNamed(ctx, "Lake", "")
	if err != nil {
		t.Fatal(err)
	}
	merge(t, store, byID(journal.ThingWater, p.fished[1].WaterID), byID(journal.ThingWater, into.ID))
	queued := p.fished[1]
	queued.ID, queued.Version, queued.BeatID = journal.NewID(), 0, nil
	queued.Stints = []journal.Stint{{ID: journal.NewID(), RigID: queued.Stints[0].RigID, Minutes: new(10.0)}}
	if got, err := p.stores[1].SaveSession(ctx, queued); err != nil || got.WaterID != into.ID {
		t.Errorf("what the client had queued is %+v, %v", got, err)
	}
	if c := journaltest.Contents(t, p.stores[1]); len(c.Aliases) > 0 {
		t.Errorf("a client sees aliases: %+v", c.Aliases)
	}
}

// Ensure that who signs in as an angler that is merged is the other from then on, that only an owner does it, that two who
// sign in stay two, and that removing somebody without a name takes former names and the steps that tell them.
func TestMergeWhoSignsIn(t *testing.T) {
	t.Parallel()
	p := newParty(t)
	ctx := t.Context()
	store, conn := p.bench.store, connect(t, p.url)
	first := join(t, conn, store.OutfitID(), "First", journal.RoleClient, &p.clients[0].ID)
	if _, _, err := store.ShareSeason(ctx, journal.Share{Angler: p.clients[0].ID, Season: "year=2026"}, 7); err != nil {
		t.Fatal(err)
	}
	from, into := byID(journal.ThingAngler, p.clients[0].ID), byID(journal.ThingAngler, p.angler.ID)
	guide := store.For(journal.Who{Role: journal.RoleGuide, Name: "Guide", Person: new(journal.NewID())})
	if c, err := guide.Merge(ctx, from, into); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "an owner merges them") {
		t.Errorf("a guide merged who signs in: %+v, %v", c, err)
	}
	c := merge(t, store, from, into)
	if m, err := store.MemberByID(ctx, first); err != nil || *m.Angler != p.angler.ID {
		t.Errorf("the member is %+v, %v", m, err)
	}
	if shares, err := store.Shares(ctx); err != nil || len(shares) != 1 || shares[0].Angler != p.angler.ID {
		t.Errorf("shared are %+v, %v", shares, err)
	}
	if n := count(t, conn, `SELECT count(*) FROM water WHERE of_angler = $1`, p.angler.ID.String()); n != 1 {
		t.Errorf("%d waters are the other's own", n)
	}
	undo(t, store, c.Step)
	if m, err := store.MemberByID(ctx, first); err != nil || *m.Angler != p.clients[0].ID {
		t.Errorf("after it went back the member is %+v, %v", m, err)
	}
	merge(t, store, from, into)
	join(t, conn, store.OutfitID(), "Second", journal.RoleClient, &p.clients[1].ID)
	if c, err := store.Merge(ctx, byID(journal.ThingAngler, p.clients[1].ID), into); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "both sign in") {
		t.Errorf("two who sign in became one: %+v, %v", c, err)
	}
	if err := store.RemoveMember(ctx, first, journal.RemoveNameless); err != nil {
		t.Fatal(err)
	}
	// A step that was taken back holds the angler it had made, whom a session brought back.
	made, err := store.LogSession(ctx, journal.Draft{Session: p.session(t, journaltest.May1, nil), Angler: "Sundew"})
	if err != nil {
		t.Fatal(err)
	}
	undo(t, store, journal.ID{})
	if err := store.RestoreSession(ctx, made.ID, 0); err != nil {
		t.Fatal(err)
	}
	if err := store.RemoveMember(ctx, join(t, conn, store.OutfitID(), "Third", journal.RoleClient, &made.AnglerID), journal.RemoveNameless); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{p.clients[0].Name, p.angler.Name, "Sundew"} {
		if n := count(t, conn, `SELECT (SELECT count(*) FROM step WHERE step::text LIKE $1) + (SELECT count(*) FROM alias WHERE name LIKE $1) + (SELECT count(*) FROM angler WHERE name LIKE $1)`, "%"+text+"%"); n > 0 {
			t.Errorf("%d rows still tell %s", n, text)
		}
	}
}
