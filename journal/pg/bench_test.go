package pg_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

func pull(t testing.TB, junction journal.Junction, newtons float64) journal.BenchPull {
	t.Helper()
	p := journal.BenchPull{ID: journaltest.NewID(t), Day: journaltest.May1, Junction: junction, TippetMM: 0.127, Material: "nylon", Wetness: "wet", ForceN: newtons, Ending: journal.PulledBroke}
	if junction != "" {
		p.Facing, p.PulledOn, p.BrokeAt = "down", "tag", journal.PullBrokeJunction
	}
	return p
}

func TestBenchPullStore(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := newBench(t)
	p := pull(t, "figure-eight", 10.5)
	p.AnglerID, p.Label, p.Note = &b.angler.ID, "  spool  A ", "first\n"
	saved, err := b.store.SaveBenchPull(ctx, p)
	if err != nil || saved.LoggedAt.IsZero() || saved.Label != "spool A" || saved.Note != "first" {
		t.Fatalf("saved %+v, %v", saved, err)
	}
	if again, err := b.store.SaveBenchPull(ctx, p); err != nil || !again.Equal(saved) || again.LoggedAt != saved.LoggedAt {
		t.Errorf("saved twice: %+v, %v", again, err)
	}
	p.ForceN, p.Version = 11, saved.Version
	if changed, err := b.store.SaveBenchPull(ctx, p); err != nil || changed.ForceN != 11 || changed.LoggedAt != saved.LoggedAt {
		t.Errorf("changed: %+v, %v", changed, err)
	}
	if _, err := b.store.SaveBenchPull(ctx, pull(t, "", 15)); err != nil {
		t.Fatal(err)
	}
	list, err := b.store.BenchPulls(ctx)
	if err != nil || len(list) != 2 || list[0].ID != p.ID || list[0].Knot() != "figure-eight" || list[1].Knotted() {
		t.Fatalf("listed %+v, %v", list, err)
	}
	if err := b.store.DeleteBenchPull(ctx, p.ID, 0); err != nil {
		t.Fatal(err)
	}
	if list, _ := b.store.BenchPulls(ctx); len(list) != 1 {
		t.Errorf("%d pulls after deleting one of two", len(list))
	}
	if _, err := b.store.SaveBenchPull(ctx, p); !errors.Is(err, journal.ErrConflict) {
		t.Errorf("a deleted pull was saved: %v", err)
	}
	if gone, err := b.store.DeletedBenchPulls(ctx); err != nil || len(gone) != 1 || gone[0].ID != p.ID {
		t.Errorf("deleted are %+v, %v", gone, err)
	}
	if err := b.store.RestoreBenchPull(ctx, p.ID, 0); err != nil {
		t.Fatal(err)
	}
	if back, err := b.store.BenchPullByID(ctx, p.ID); err != nil || back.DeletedAt != nil || back.ForceN != 11 {
		t.Errorf("restored %+v, %v", back, err)
	}
	for name, err := range map[string]error{"delete": b.store.DeleteBenchPull(ctx, journaltest.NewID(t), 0), "restore": b.store.RestoreBenchPull(ctx, journaltest.NewID(t), 0)} {
		if !errors.Is(err, journal.ErrNotFound) {
			t.Errorf("%s of none: %v", name, err)
		}
	}
	unknown := pull(t, "blood", 9)
	unknown.AnglerID = new(journaltest.NewID(t))
	if _, err := b.store.SaveBenchPull(ctx, unknown); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "the angler who tied it") {
		t.Errorf("an angler that is not there: %v", err)
	}
}

func TestBenchPullRules(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		alter func(p *journal.BenchPull)
		want  string
	}{
		"no force":             {func(p *journal.BenchPull) { p.ForceN = 0 }, "a force of 0 N can't be"},
		"too strong":           {func(p *journal.BenchPull) { p.ForceN = 2001 }, "at most 2000 N"},
		"no tippet":            {func(p *journal.BenchPull) { p.TippetMM = 0 }, "no tippet size"},
		"a rope":               {func(p *journal.BenchPull) { p.TippetMM = 8 }, "the tippet of 8 mm can't be"},
		"no end":               {func(p *journal.BenchPull) { p.Ending = "" }, "choose broke, slipped or did not break"},
		"slipped and broke at": {func(p *journal.BenchPull) { p.Ending = journal.PulledSlipped }, "so it has no place where it broke"},
		"a nameless other":     {func(p *journal.BenchPull) { p.Junction = journal.JunctionOther }, `goes with junction "other"`},
		"no such junction":     {func(p *journal.BenchPull) { p.Junction = "granny" }, `junction "granny" is not known`},
		"half wet":             {func(p *journal.BenchPull) { p.Wetness = "damp" }, `"damp" is not known; write one of: wet, dry`},
		"no knot facing down":  {func(p *journal.BenchPull) { p.Junction = "" }, "a line without a junction has no facing"},
		"no knot slipping": {func(p *journal.BenchPull) {
			*p = journal.BenchPull{ID: p.ID, Day: p.Day, TippetMM: 0.1, ForceN: 9, Ending: journal.PulledSlipped}
		}, "a line without a junction can't slip"},
		"no day": {func(p *journal.BenchPull) { p.Day = journal.Date{} }, "the pull has no day"},
	} {
		p := pull(t, "blood", 9)
		tt.alter(&p)
		if err := p.Validate(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want something with %q", name, err, tt.want)
		}
	}
}

// The tables refuse what the rules would, for a program that goes past them.
func TestBenchPullTables(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := newBench(t)
	if err := b.store.AddBenchPulls(ctx, []journal.BenchPull{pull(t, "blood", 9), pull(t, "blood", -1)}, nil); !journal.IsInvalid(err) {
		t.Errorf("a force below nothing: %v", err)
	}
	if list, err := b.store.BenchPulls(ctx); err != nil || len(list) > 0 {
		t.Errorf("a refused list left %d pulls (%v)", len(list), err)
	}
	pulls := []journal.BenchPull{pull(t, "blood", 9), pull(t, "blood", 8), pull(t, "", 12)}
	if err := b.store.AddBenchPulls(ctx, pulls, []journal.Angler{{ID: journaltest.NewID(t), Name: "Odile", Kind: journal.Client, Active: true}}); err != nil {
		t.Fatal(err)
	}
	list, err := b.store.BenchPulls(ctx)
	if err != nil || len(list) != 3 || list[0].ID != pulls[0].ID || list[2].ID != pulls[2].ID {
		t.Errorf("added %+v, %v", list, err)
	}
}
