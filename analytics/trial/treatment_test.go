package trial

import (
	"context"
	"math"
	"testing"
	"time"

	"rigtally/journal"
)

// fishedBlocks are blocks ABBA of an hour each, two units a session, with as many
// events of A and of B a unit, after those that were fished before.
func fishedBlocks(before []journal.TrialCount, blocks int, a, b float64) []journal.TrialCount {
	for range blocks {
		for _, arm := range []journal.Arm{journal.ArmA, journal.ArmB, journal.ArmB, journal.ArmA} {
			n := len(before)
			c := journal.TrialCount{Unit: journal.TrialUnit{Ordinal: n + 1, Arm: arm, Status: journal.UnitKept}, Found: true, Fished: arm, T: 1, Hours: 1, K: a,
				Day: journal.DateOf(time.Date(2026, 5, 1+n/2, 0, 0, 0, 0, time.UTC))}
			c.Session[0] = byte(n/2) + 1
			if arm == journal.ArmB {
				c.K = b
			}
			if c.K > 0 {
				c.After = new(30.0)
			}
			before = append(before, c)
		}
	}
	return before
}

func follows(t *testing.T, counts []journal.TrialCount) Answer {
	t.Helper()
	outcome, err := journal.OutcomeByKey("tangles")
	if err != nil {
		t.Fatal(err)
	}
	a := Answer{Outcome: outcome, State: Planned, Trial: journal.Trial{Unit: journal.ByStint, Block: 4, Worth: 1.5, MostHours: 80}}
	if err := a.follow(counts); err != nil {
		t.Fatal(err)
	}
	return a
}

// Ensure that a trial stays settled for the arm that had more at the look that
// settled it, whatever comes after.
func TestSettledTrialKeepsItsDirection(t *testing.T) {
	t.Parallel()
	counts := fishedBlocks(nil, 6, 4, 1)
	first := follows(t, counts)
	if first.State != MoreA || first.Settled == 0 {
		t.Fatalf("it is %q", first.State)
	}
	later := follows(t, fishedBlocks(counts, 20, 0, 5))
	if later.State != MoreA || later.Settled != first.Settled || *later.Ratio > 1 {
		t.Errorf("later it is %q after look %d, with a ratio of %g", later.State, later.Settled, *later.Ratio)
	}
}

// Ensure that no verdict is given where one arm is left after events, and that one
// is where the minutes can't tell.
func TestArmLeftAfterEvents(t *testing.T) {
	t.Parallel()
	counts := fishedBlocks(nil, 6, 4, 1)
	for i := range counts {
		if counts[i].Unit.Arm == journal.ArmA {
			counts[i].After = new(float64(i % SoonMinutes))
		}
	}
	a := follows(t, counts)
	if c := a.Treatment.Checks[2]; a.State != Unlike || !c.Unlike || c.Count != [2]int{12, 0} || c.Of != [2]int{12, 12} || a.Settled != 0 {
		t.Errorf("it is %q with %+v", a.State, c)
	}
	for i := range counts {
		counts[i].After, counts[i].Untold = nil, true
	}
	if a = follows(t, counts); a.State != MoreA || a.Treatment.Untold != a.Looks[len(a.Looks)-1].Blocks*4 || a.Treatment.Checks[2].P != nil {
		t.Errorf("without minutes it is %q with %+v", a.State, a.Treatment)
	}
}

// Ensure that starts of one arm that led to nothing, or broke the plan, are told,
// and that a few of which nothing is known are counted against a verdict.
func TestStartsThatLedToNothing(t *testing.T) {
	t.Parallel()
	blank := func(counts []journal.TrialCount, status journal.UnitStatus, which func(i int) bool) []journal.TrialCount {
		for i, c := range counts {
			if which(i) {
				counts[i] = journal.TrialCount{Unit: journal.TrialUnit{Ordinal: i + 1, Arm: c.Unit.Arm, Status: status, Reason: "so"}}
			}
		}
		return counts
	}
	for i, status := range []journal.UnitStatus{journal.UnitOpen, journal.UnitBroke} {
		a := follows(t, blank(fishedBlocks(nil, 40, 2, 1), status, func(i int) bool { return i%8 == 1 }))
		if c := a.Treatment.Checks[i]; a.State != Unlike || !c.Unlike || c.Count[0] != 0 || c.Count[1] < 8 {
			t.Errorf("of units %q: %q, %+v", status, a.State, c)
		}
	}
	uneven := func(blocks int) []journal.TrialCount {
		counts := fishedBlocks(nil, blocks, 3, 1)
		for i := range counts {
			counts[i].K += float64(i * i % 7)
		}
		return counts
	}
	whole := follows(t, uneven(60))
	long := follows(t, blank(uneven(60), journal.UnitOpen, func(i int) bool { return i == 4 || i == 5 }))
	if whole.State != MoreA || long.State != MoreA || long.Treatment.Unlike() || long.Turned == nil || long.Turned.Missing != 2 || long.Settled <= whole.Settled {
		t.Errorf("in a longer one it is %q after look %d, whole after %d, %+v", long.State, long.Settled, whole.Settled, long.Turned)
	}
	if before := long.Looks[long.Settled-2]; before.State != Missing {
		t.Errorf("before it was settled it was %q with e of %g", before.State, math.Exp(before.Robust.LogE))
	}
}

// rigsOf are rigs by id; a Keeper for earlier, which asks for nothing else.
type rigsOf struct {
	Keeper
	rigs map[journal.ID]journal.Rig
}

func (r rigsOf) RigByID(_ context.Context, id journal.ID) (journal.Rig, error) {
	return r.rigs[id], nil
}

// Ensure that a trial names those that asked the same before it, whichever arm was A.
func TestEarlierTrials(t *testing.T) {
	t.Parallel()
	at := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
	ids := []journal.ID{journal.NewID(), journal.NewID(), journal.NewID()}
	store := rigsOf{rigs: map[journal.ID]journal.Rig{ids[0]: {Name: "Fern", Revision: 1}, ids[1]: {Name: "Moss"}, ids[2]: {Name: "fern", Revision: 2}}}
	levels := func(a, b string) [2]journal.TrialArm { return [2]journal.TrialArm{{Level: a}, {Level: b}} }
	rigs := func(a, b int) [2]journal.TrialArm {
		return [2]journal.TrialArm{{RigID: &ids[a]}, {RigID: &ids[b]}}
	}
	plan := func(outcome, factor string, arms [2]journal.TrialArm) journal.Trial {
		return journal.Trial{ID: journal.NewID(), Name: "Earlier", Outcome: outcome, Factor: factor, Arms: arms, PlannedAt: at}
	}
	up := plan("tangles", "facing", levels("up", "down"))
	for name, tt := range map[string]struct {
		t, other journal.Trial
		want     bool
	}{
		"the same":          {up, plan("tangles", "facing", levels("up", "down")), true},
		"the other way":     {up, plan("tangles", "facing", levels("down", "UP")), true},
		"another outcome":   {up, plan("loss", "facing", levels("up", "down")), false},
		"another level":     {up, plan("tangles", "facing", levels("up", "side")), false},
		"close":             {plan("tangles", "tag-length", levels("100", "160")), plan("tangles", "tag-length", levels("165", "101.6")), true},
		"not close":         {plan("tangles", "tag-length", levels("100", "160")), plan("tangles", "tag-length", levels("180", "101.6")), false},
		"a later revision":  {plan("tangles", "rig", rigs(1, 2)), plan("tangles", "rig", rigs(0, 1)), true},
		"of revisions":      {plan("tangles", "rig", rigs(0, 2)), plan("tangles", "rig", rigs(2, 0)), true},
		"a revision more":   {plan("tangles", "rig", rigs(0, 2)), plan("tangles", "rig", rigs(1, 0)), false},
		"the trial as such": {up, up, false},
	} {
		tt.t.PlannedAt = at.Add(time.Hour)
		for _, planned := range []bool{true, false} {
			if !planned {
				tt.t.PlannedAt = time.Time{}
			}
			if list, err := earlier(t.Context(), store, tt.t, []journal.Trial{tt.other}); err != nil || (len(list) == 1) != tt.want {
				t.Errorf("%s: %+v, %v", name, list, err)
			}
		}
		tt.t.PlannedAt = at.Add(-time.Hour)
		if list, err := earlier(t.Context(), store, tt.t, []journal.Trial{tt.other}); err != nil || len(list) != 0 {
			t.Errorf("%s, of one that came later: %+v, %v", name, list, err)
		}
	}
}
