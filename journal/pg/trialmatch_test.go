package pg_test

import (
	"errors"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// facing saves a rig whose dropper faces so.
func (b bench) facing(t testing.TB, name string, facing journal.Facing) journal.Rig {
	t.Helper()
	rig := journaltest.OneDropper(name)
	rig.Positions[1].Facing = facing
	return b.save(t, rig)
}

// fished is a session of an hour with each rig, with as many tangles.
func (b bench) fished(t testing.TB, day journal.Date, rigs ...journal.Rig) journal.Session {
	t.Helper()
	s := b.session(t, day, nil)
	s.Stints = nil
	for i, rig := range rigs {
		s.Stints = append(s.Stints, journal.Stint{ID: journaltest.NewID(t), RigID: rig.ID, Minutes: new(60.0), Events: []journal.Event{journaltest.Tangles(i + 1)}})
	}
	return s
}

func byArm(u journal.TrialUnit, a, b journal.Rig) journal.Rig {
	if u.Arm == journal.ArmA {
		return a
	}
	return b
}

// Ensure that a saved session finds its units where there is no doubt, keeps
// them through an edit, and that what was fished is counted.
func TestTrialFindsWhatWasFished(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	up, down := b.facing(t, "Up", "up"), b.facing(t, "Down", "down")
	trial := b.plan(t, facingTrial(t))
	at := journaltest.May1.In(time.UTC).Add(9 * time.Hour)
	first, second := b.start(t, trial, at), b.start(t, trial, at.Add(time.Hour))
	s := b.store1(t, b.fished(t, journaltest.May1, byArm(first, up, down), byArm(second, up, down)))
	got := b.trial(t, trial.ID)
	for i, u := range got.Units {
		if u.Status != journal.UnitKept || *u.StintID != s.Stints[i].ID || *u.SessionID != s.ID {
			t.Errorf("number %d is %+v", i+1, u)
		}
	}
	s.Stints[1].Events = []journal.Event{journaltest.Tangles(7)}
	s = b.store1(t, s)
	counts, err := b.store.TrialCounts(ctx, got)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{1, 7} {
		if c := counts[i]; c.K != want || c.T != 1 || c.Hours != 1 || c.Fished != c.Unit.Arm || c.Day != journaltest.May1 || c.Unusable != "" || len(c.Rigs) != 1 {
			t.Errorf("number %d counts %+v", i+1, c)
		}
	}
	if err := b.store.DeleteSession(ctx, s.ID, 0); err != nil {
		t.Fatal(err)
	}
	if counts, err = b.store.TrialCounts(ctx, got); err != nil || counts[0].Found {
		t.Errorf("of a deleted session: %+v, %v", counts, err)
	}
	if err := b.store.RestoreSession(ctx, s.ID, 0); err != nil {
		t.Fatal(err)
	}
	if counts, err = b.store.TrialCounts(ctx, got); err != nil || !counts[1].Found || counts[1].K != 7 {
		t.Errorf("of a restored session: %+v, %v", counts, err)
	}
	if _, err := b.store.MarkRecorded(ctx, journal.RecordedMark{Angler: b.angler.ID, From: journaltest.May1, To: journaltest.May1, Not: []journal.Kind{journal.KindTangles}}); err != nil {
		t.Fatal(err)
	}
	got = b.trial(t, trial.ID)
	counts, err = b.store.TrialCounts(ctx, got)
	if err != nil || got.Units[1].Status != journal.UnitKept || !counts[1].NoCount || counts[1].K != 0 || counts[1].Unusable != "it has no count kept of tangles" {
		t.Errorf("of a session without count of tangles: %+v, %v", counts, err)
	}
}

// Ensure that nothing is guessed: more stints of an arm than were told, another
// day, or a rig of neither arm are left to the person, who is held to the plan.
func TestTrialIsHeldToItsPlan(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	up, down, side := b.facing(t, "Up", "up"), b.facing(t, "Down", "down"), b.facing(t, "Side", "side")
	trial := b.plan(t, facingTrial(t))
	u := b.start(t, trial, journaltest.May1.In(time.UTC).Add(9*time.Hour))
	told, other := byArm(u, up, down), byArm(u, down, up)
	later := journaltest.May1
	later.Day = 2
	b.store1(t, b.fished(t, later, told))
	s := b.store1(t, b.fished(t, journaltest.May1, told, told, other, side))
	if got := b.trial(t, trial.ID).Units[0]; got.Status != journal.UnitOpen {
		t.Fatalf("guessed %+v", got)
	}
	attach := func(stint int, reason string) error {
		return b.store.AttachTrialUnit(ctx, trial.ID, 0, journal.Attachment{Ordinal: 1, SessionID: s.ID, StintID: &s.Stints[stint].ID}, reason)
	}
	for _, wrong := range []int{2, 3} {
		if err := attach(wrong, ""); !journal.IsInvalid(err) {
			t.Errorf("stint %d as kept: %v", wrong+1, err)
		}
	}
	if err := b.store.AttachTrialUnit(ctx, trial.ID, 0, journal.Attachment{Ordinal: 1, SessionID: s.ID}, ""); !journal.IsInvalid(err) {
		t.Errorf("a whole session: %v", err)
	}
	if err := b.store.AttachTrialUnit(ctx, trial.ID, 0, journal.Attachment{Ordinal: 1, SessionID: journaltest.NewID(t), StintID: &s.Stints[0].ID}, ""); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("a session from nowhere: %v", err)
	}
	if err := attach(2, "ran out of the other"); err != nil {
		t.Fatal(err)
	}
	if got := b.trial(t, trial.ID).Units[0]; got.Status != journal.UnitBroke || got.Reason != "ran out of the other" || *got.StintID != s.Stints[2].ID {
		t.Errorf("stored %+v", got)
	}
	if err := attach(1, ""); err != nil {
		t.Fatal(err)
	}
	second := b.start(t, trial, journaltest.May1.In(time.UTC).Add(9*time.Hour))
	err := b.store.AttachTrialUnit(ctx, trial.ID, 0, journal.Attachment{Ordinal: second.Ordinal, SessionID: s.ID, StintID: &s.Stints[1].ID}, "again")
	if !journal.IsInvalid(err) {
		t.Errorf("a stint twice: %v", err)
	}
	if err := b.store.BreakTrialUnit(ctx, trial.ID, 2, 0, " "); !journal.IsInvalid(err) {
		t.Errorf("no reason: %v", err)
	}
	if err := b.store.BreakTrialUnit(ctx, trial.ID, 2, 0, "a storm came up"); err != nil {
		t.Error(err)
	}
	if err := b.store.OpenTrialUnit(ctx, trial.ID, 1, 0); err != nil {
		t.Error(err)
	}
	if got := b.trial(t, trial.ID).Units; got[0].Status != journal.UnitOpen || got[0].StintID != nil || got[1].Status != journal.UnitBroke || got[1].SessionID != nil {
		t.Errorf("stored %+v", got)
	}
}

// Ensure that each factor tells the arm of a stint, numbers to a quarter of what
// the arms differ by, and later revisions of a rig as that rig.
func TestTrialKnowsItsArms(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	two := journaltest.OneDropper("Two")
	two.Positions = append(two.Positions, two.Positions[1])
	two.Positions[2].Position, two.Positions[2].Facing = 2, "up"
	mixed := b.save(t, two)
	revised := b.rig
	b.store1(t, b.session(t, journaltest.May1, new(60.0)))
	revised.Notes = "stiffer"
	revised = b.save(t, revised)
	other := b.save(t, journaltest.OneDropper("Other"))
	for i, tt := range []struct {
		factor string
		arms   [2]journal.TrialArm
		rig    journal.Rig
		alter  func(*journal.Stint)
		want   journal.Arm
	}{
		{"facing", [2]journal.TrialArm{{Level: "up"}, {Level: "down"}}, mixed, nil, ""},
		{"junction", [2]journal.TrialArm{{Level: "uni"}, {Level: "Blood"}}, mixed, nil, "B"},
		{"rig", [2]journal.TrialArm{{RigID: &b.rig.ID}, {RigID: &other.ID}}, revised, nil, "A"},
		{"rig", [2]journal.TrialArm{{RigID: &b.rig.ID}, {RigID: &revised.ID}}, revised, nil, "B"},
		{"tag-length", [2]journal.TrialArm{{Level: "100"}, {Level: "160"}}, other, nil, "B"},
		{"tag-length", [2]journal.TrialArm{{Level: "100"}, {Level: "160"}}, other, func(st *journal.Stint) {
			st.Positions = []journal.StintPosition{{Position: 1, TagStartMM: new(112.0)}}
		}, "A"},
		{"tag-length", [2]journal.TrialArm{{Level: "100"}, {Level: "140"}}, other, nil, ""},
		{"stroke", [2]journal.TrialArm{{Level: "roll"}, {Level: "oval"}}, other, func(st *journal.Stint) { st.Stroke = "roll" }, "A"},
		{"method", [2]journal.TrialArm{{Level: "wet"}, {Level: "tight-line nymph"}}, other, nil, "B"},
		{"bulk", [2]journal.TrialArm{{Level: "hackled"}, {Level: "slim"}}, other, nil, "A"},
		{"tippet", [2]journal.TrialArm{{Level: "0.127"}, {Level: "0.152"}}, other, nil, "A"},
		{"hook-size", [2]journal.TrialArm{{Level: "14"}, {Level: "18"}}, other, nil, "B"},
		{"prop", [2]journal.TrialArm{{Level: "none"}, {Level: "overhand"}}, other, nil, "A"},
		{"hang", [2]journal.TrialArm{{Level: "eye"}, {Level: "tag"}}, other, nil, "B"},
		{"material", [2]journal.TrialArm{{Level: "nylon"}, {Level: "fluorocarbon"}}, other, nil, ""},
		{"swivel", [2]journal.TrialArm{{Level: "none"}, {Level: "micro swivel"}}, other, nil, ""},
	} {
		plan := facingTrial(t)
		plan.Name, plan.Factor, plan.Arms = tt.factor+string(rune('a'+i)), tt.factor, tt.arms
		trial := b.plan(t, plan)
		day := journaltest.May1
		day.Day += i + 2
		b.start(t, trial, day.In(time.UTC).Add(9*time.Hour))
		s := b.fished(t, day, tt.rig)
		if tt.alter != nil {
			tt.alter(&s.Stints[0])
		}
		s = b.store1(t, s)
		if err := b.store.AttachTrialUnit(t.Context(), trial.ID, 0, journal.Attachment{Ordinal: 1, SessionID: s.ID, StintID: &s.Stints[0].ID}, "to see"); err != nil {
			t.Fatal(err)
		}
		counts, err := b.store.TrialCounts(t.Context(), b.trial(t, trial.ID))
		if err != nil || counts[0].Fished != tt.want {
			t.Errorf("%s, case %d: fished with %q, want %q (%v)", tt.factor, i, counts[0].Fished, tt.want, err)
		}
	}
}

// Ensure that where sessions alternate a whole session is attached and counted,
// but only what was fished with the arm.
func TestTrialBySession(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	up, down, side := b.facing(t, "Up", "up"), b.facing(t, "Down", "down"), b.facing(t, "Side", "side")
	plan := facingTrial(t)
	plan.Unit = journal.BySession
	trial := b.plan(t, plan)
	u := b.start(t, trial, journaltest.May1.In(time.UTC).Add(9*time.Hour))
	told := byArm(u, up, down)
	s := b.fished(t, journaltest.May1, told, side, told)
	s.Stints[0].Minutes = nil
	s = b.store1(t, s)
	got := b.trial(t, trial.ID)
	if v := got.Units[0]; v.Status != journal.UnitKept || *v.SessionID != s.ID || v.StintID != nil {
		t.Fatalf("number 1 is %+v", v)
	}
	counts, err := b.store.TrialCounts(t.Context(), got)
	if err != nil || counts[0].Unusable == "" || counts[0].T != 0 {
		t.Errorf("without minutes: %+v, %v", counts, err)
	}
	s.Stints[0].Minutes = new(30.0)
	b.store1(t, s)
	if counts, err = b.store.TrialCounts(t.Context(), got); err != nil || counts[0].K != 4 || counts[0].T != 1.5 || counts[0].Hours != 1.5 {
		t.Errorf("counts %+v, %v", counts, err)
	}
}
