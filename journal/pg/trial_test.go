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
		if len(trial.Seed) != 64 || strings.Trim(trial.Seed, "0123456789abcdef") != "" {
			t.Fatalf("the seed is %q", trial.Seed)
		}
		order := orderBySHA(trial.Seed, block, 512)
		told := ""
		for range 12 {
			told += string(b.start(t, trial, time.Now()).Arm)
		}
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
		trial = b.trial(t, trial.ID)
		if err := trial.CheckSeal(); err != nil {
			t.Error(err)
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
	if again := b.plan(t, plan); again.Seed != trial.Seed {
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
