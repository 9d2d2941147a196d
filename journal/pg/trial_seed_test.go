package pg_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"rigtally/journal"
)

// Ensure that nothing that the store hands out tells the seed of a trial that
// runs, conflicts included, and that blocks are of four where nobody says.
func TestTrialSeedStaysInTheStore(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	plan := facingTrial(t)
	plan.Seed, plan.Block = strings.Repeat("5eed", 16), 0
	trial := b.plan(t, plan)
	if trial.Block != journal.UsualBlock {
		t.Errorf("blocks are of %d", trial.Block)
	}
	b.start(t, trial, time.Now())
	other := plan
	other.Worth = 3
	_, conflict := b.store.PlanTrial(ctx, other)
	stale := b.store.RenameTrial(ctx, plan.ID, 7, "Another", "")
	told := map[string]any{"planned": trial, "read": b.trial(t, plan.ID)}
	for name, err := range map[string]error{"planned again": conflict, "renamed": stale} {
		var c *journal.Conflict
		if !errors.As(err, &c) {
			t.Fatalf("%s: %v", name, err)
		}
		told[name] = c
	}
	var err error
	told["named"], err = b.store.TrialNamed(ctx, plan.Name)
	all, err2 := b.store.Trials(ctx)
	running, err3 := b.store.RunningTrials(ctx)
	contents, err4 := b.store.Contents(ctx)
	if err := errors.Join(err, err2, err3, err4); err != nil || len(all)*len(running)*len(contents.Trials) != 1 {
		t.Fatal(err, all, running)
	}
	told["listed"], told["running"], told["contents"] = all, running, contents
	for name, v := range told {
		if text := fmt.Sprintf("%+v", v); strings.Contains(text, plan.Seed) {
			t.Errorf("%s tells the seed: %s", name, text)
		}
		if text, err := json.Marshal(v); err != nil || strings.Contains(string(text), plan.Seed) {
			t.Errorf("%s tells the seed: %s, %v", name, text, err)
		}
	}
	if err := b.store.EndTrial(ctx, plan.ID, 0, time.Now(), ""); err != nil {
		t.Fatal(err)
	}
	if got := b.trial(t, plan.ID); got.Seed != plan.Seed {
		t.Errorf("ended, its seed is %q", got.Seed)
	}
}
