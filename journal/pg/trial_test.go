package pg_test

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// facingTrial is a trial of tags facing up against down, by stint.
func facingTrial(t testing.TB) journal.Trial {
	t.Helper()
	return journal.Trial{ID: journaltest.NewID(t), Name: "Up or down", Outcome: "tangles", Factor: "facing", Arms: [2]journal.TrialArm{{Level: "up"}, {Level: "down", Note: "as always"}},
		Unit: journal.ByStint, Block: 2, Worth: 1.5, MostHours: 60}
}

func (b bench) plan(t testing.TB, trial journal.Trial) journal.Trial {
	t.Helper()
	planned, err := b.store.PlanTrial(t.Context(), trial)
	if err != nil {
		t.Fatal(err)
	}
	return planned
}

func (b bench) trial(t testing.TB, id journal.ID) journal.Trial {
	t.Helper()
	trial, err := b.store.TrialByID(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return trial
}

func (b bench) start(t testing.TB, trial journal.Trial, at time.Time) journal.TrialUnit {
	t.Helper()
	u, err := b.store.StartTrialUnit(t.Context(), trial.ID, len(b.trial(t, trial.ID).Units)+1, at)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

// orderBySHA works the order out from the rule in the contributor guide, with
// SHA-256 of FIPS 180-4 as the only tool.
func orderBySHA(seed string, block, units int) string {
	list := []string{"AB", "BA"}
	if block == 4 {
		list = []string{"AABB", "ABAB", "ABBA", "BAAB", "BABA", "BBAA"}
	}
	order := ""
	for n := 1; len(order) < units; n++ {
		sum := sha256.Sum256([]byte(fmt.Sprintf("%s %d", seed, n)))
		order += list[binary.BigEndian.Uint64(sum[:8])%uint64(len(list))]
	}
	return order
}

// Ensure that the order is the one that the seed makes, that its blocks are
// balanced, and that the seal can be checked by anyone afterwards.
func TestTrialOrderIsSealed(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	for _, block := range []int{2, 4} {
		plan := facingTrial(t)
		plan.Name, plan.Block = fmt.Sprintf("Blocks of %d", block), block
		trial := b.plan(t, plan)
		told := ""
		for range 12 {
			told += string(b.start(t, trial, time.Now()).Arm)
		}
		if err := b.store.CheckTrialSeal(t.Context(), trial.ID); err != nil {
			t.Error(err)
		}
		if err := b.store.EndTrial(t.Context(), trial.ID, 0, time.Now(), ""); err != nil {
			t.Fatal(err)
		}
		trial = b.trial(t, trial.ID)
		if len(trial.Seed) != 64 || strings.Trim(trial.Seed, "0123456789abcdef") != "" {
			t.Fatalf("the seed is %q", trial.Seed)
		}
		order := orderBySHA(trial.Seed, block, 512)
		if told != order[:12] {
			t.Errorf("told %s, the seed makes %s", told, order[:12])
		}
		for i := 0; i < 12; i += block {
			if n := strings.Count(told[i:i+block], "A"); 2*n != block {
				t.Errorf("block %s is not balanced", told[i:i+block])
			}
		}
		sum := sha256.Sum256([]byte("rigtally trial order\nseed " + trial.Seed + "\norder " + order + "\n"))
		if hex.EncodeToString(sum[:]) != trial.Commitment {
			t.Error("the commitment is not the hash of seed and order")
		}
		trial.Units[3].Arm = map[journal.Arm]journal.Arm{"A": "B", "B": "A"}[trial.Units[3].Arm]
		if err := trial.CheckSeal(); !errors.Is(err, journal.ErrSeal) {
			t.Errorf("another arm gives %v", err)
		}
	}
}

// Ensure that each arrangement of a block is drawn about as often as any other
// (chi-squared with 5 degrees of freedom: 20.5 at 0.1%, tables).
func TestTrialOrderIsEven(t *testing.T) {
	t.Parallel()
	seen := map[string]int{}
	const n = 6000
	for i := range n {
		seen[orderBySHA(fmt.Sprintf("%064x", i), 4, 4)]++
	}
	sum := 0.0
	for _, k := range seen {
		d := float64(k) - n/6.0
		sum += d * d / (n / 6.0)
	}
	if len(seen) != 6 || sum > 20.5 {
		t.Errorf("drawn %v, chi-squared %g", seen, sum)
	}
}

// Ensure that a plan is refused that makes no sense, with a sentence.
func TestTrialRules(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		want  string
		spoil func(*journal.Trial)
	}{
		{"has no name", func(p *journal.Trial) { p.Name = " " }},
		{`outcome "luck" is not known`, func(p *journal.Trial) { p.Outcome = "luck" }},
		{"minutes lost are an amount", func(p *journal.Trial) { p.Outcome = "downtime" }},
		{"water can't be tied", func(p *journal.Trial) { p.Factor = "water" }},
		{"facing of arm A", func(p *journal.Trial) { p.Arms[0].Level = "sideways" }},
		{"arm B has no facing", func(p *journal.Trial) { p.Arms[1].Level = "" }},
		{"both arms are the same", func(p *journal.Trial) { p.Arms[1].Level = "UP" }},
		{"arm A has no rig", func(p *journal.Trial) { p.Factor = "rig" }},
		{"write a number above 0", func(p *journal.Trial) { p.Factor = "tag-length" }},
		{`the unit "hour" is not known`, func(p *journal.Trial) { p.Unit = "hour" }},
		{"a block of 3 units", func(p *journal.Trial) { p.Block = 3 }},
		{"between 1.1 and 5", func(p *journal.Trial) { p.Worth = 1 }},
		{"from 1 to 5000", func(p *journal.Trial) { p.MostHours = 0 }},
	} {
		plan := facingTrial(t)
		tt.spoil(&plan)
		if err := plan.Validate(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("got %v, want something with %q", err, tt.want)
		}
	}
	if err := facingTrial(t).Validate(); err != nil {
		t.Error(err)
	}
}

// Ensure that a start sent twice is one start, that one taken back tells the same
// arm again and is counted, and that a plan stays what it was.
func TestTrialStarts(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	plan := facingTrial(t)
	trial := b.plan(t, plan)
	if again := b.plan(t, plan); again.Commitment != trial.Commitment {
		t.Error("planned twice")
	}
	plan.Worth = 2
	if _, err := b.store.PlanTrial(ctx, plan); !errors.Is(err, journal.ErrConflict) {
		t.Errorf("another plan under its id: %v", err)
	}
	plan.ID = journaltest.NewID(t)
	if _, err := b.store.PlanTrial(ctx, plan); !journal.IsInvalid(err) {
		t.Errorf("its name again: %v", err)
	}
	at := time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC)
	first := b.start(t, trial, at)
	if twice, err := b.store.StartTrialUnit(ctx, trial.ID, 1, at.Add(time.Minute)); err != nil || twice != first {
		t.Errorf("sent twice: %+v, %v", twice, err)
	}
	if _, err := b.store.StartTrialUnit(ctx, trial.ID, 3, at); !errors.Is(err, journal.ErrConflict) {
		t.Errorf("number 3 before 2: %v", err)
	}
	second := b.start(t, trial, at)
	if err := b.store.UndoTrialStart(ctx, trial.ID, 1); !journal.IsInvalid(err) {
		t.Errorf("took back what is not the last: %v", err)
	}
	for range 2 {
		if err := b.store.UndoTrialStart(ctx, trial.ID, 2); err != nil {
			t.Fatal(err)
		}
	}
	if again := b.start(t, trial, at); again.Arm != second.Arm {
		t.Error("another arm after a start taken back")
	}
	if got := b.trial(t, trial.ID); got.Undone != 1 || len(got.Units) != 2 {
		t.Errorf("stored %+v", got)
	}
	if err := b.store.DeleteTrial(ctx, trial.ID, 0); !journal.IsInvalid(err) {
		t.Errorf("deleted a started trial: %v", err)
	}
	if err := b.store.RenameTrial(ctx, trial.ID, 0, "Up, down", "more"); err != nil {
		t.Error(err)
	}
	for range 2 {
		if err := b.store.EndTrial(ctx, trial.ID, 0, at.AddDate(0, 1, 0), "the season is over"); err != nil {
			t.Error(err)
		}
	}
	if _, err := b.store.StartTrialUnit(ctx, trial.ID, 3, at); !journal.IsInvalid(err) {
		t.Errorf("started after the end: %v", err)
	}
	if got := b.trial(t, trial.ID); !got.Ended() || got.Ending != "the season is over" || got.Name != "Up, down" {
		t.Errorf("stored %+v", got)
	}
	if running, err := b.store.RunningTrials(ctx); err != nil || len(running) != 0 {
		t.Errorf("running: %v, %v", running, err)
	}
	other := b.plan(t, facingTrial(t))
	if err := b.store.DeleteTrial(ctx, other.ID, 0); err != nil {
		t.Error(err)
	}
	if _, err := b.store.TrialByID(ctx, other.ID); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("after deleting: %v", err)
	}
}

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
