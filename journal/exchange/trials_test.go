package exchange_test

import (
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

// Ensure that a backup keeps trials with their units and what is attached, but of
// one that runs neither the seed nor what was not drawn yet: brought back it ends
// there, keeps its commitment, and one altered is refused. Once a trial has ended
// its seed is kept, too.
func TestBackupKeepsTrials(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	from := journaltest.Store(t)
	var arms [2]journal.TrialArm
	for i, name := range []string{"Long", "Short"} {
		rig, err := from.SaveRig(ctx, journal.Rig{Name: name, Positions: []journal.RigPosition{{Position: 0}}})
		if err != nil {
			t.Fatal(err)
		}
		arms[i] = journal.TrialArm{RigID: &rig.ID, Note: `"tied" <dry>`}
	}
	id, seed := journal.NewID(), strings.Repeat("5eed", 16)
	trial, err := from.PlanTrial(ctx, journal.Trial{ID: id, Name: "Long or short", Outcome: "loss", Factor: "rig", Arms: arms, Unit: journal.BySession, Block: 4, Worth: 1.5, MostHours: 40, Notes: "a\nb", Seed: seed})
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; n <= 5; n++ {
		if _, err := from.StartTrialUnit(ctx, id, n, time.Date(2026, 5, n, 8, 0, 0, 0, time.UTC)); err != nil {
			t.Fatal(err)
		}
	}
	if err := from.BreakTrialUnit(ctx, id, 2, 0, "a storm"); err != nil {
		t.Fatal(err)
	}
	text := exported(t, from)
	var flat strings.Builder
	if err := exchange.WriteCSV(ctx, from, &flat); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(text, seed) || strings.Contains(flat.String(), seed) || !strings.Contains(text, trial.Commitment) || !strings.Contains(text, `"order_cut":true`) {
		t.Errorf("the backup of a trial that runs is\n%s", text)
	}
	store := journaltest.Store(t)
	if r := readBack(t, store, text); len(r.NewTrials) != 1 {
		t.Errorf("new are %q", r.NewTrials)
	}
	if again := exported(t, store); again != text {
		t.Errorf("exported again:\n%s\nwant:\n%s", again, text)
	}
	for _, s := range []*pg.Store{store, from} {
		if r := readBack(t, s, text); len(r.NewTrials) != 0 {
			t.Errorf("read where it is, new are %q", r.NewTrials)
		}
	}
	if _, err := store.StartTrialUnit(ctx, id, 6, time.Now()); !journal.IsInvalid(err) || !strings.Contains(err.Error(), "ends with number 5") {
		t.Errorf("started beyond what was drawn: %v", err)
	}
	if err := store.UndoTrialStart(ctx, id, 5); !journal.IsInvalid(err) {
		t.Errorf("took a start back that can't be drawn again: %v", err)
	}
	if held, err := store.TrialByID(ctx, id); err != nil || !held.OrderCut || held.Commitment != trial.Commitment || held.Next() != 0 || store.CheckTrialSeal(ctx, id) != nil {
		t.Errorf("brought back it is %+v, %v", held, err)
	}
	if running, err := store.RunningTrials(ctx); err != nil || len(running) != 0 {
		t.Errorf("a next one can be started in %+v, %v", running, err)
	}
	if _, err := from.StartTrialUnit(ctx, id, 6, time.Now()); err != nil {
		t.Error(err)
	}
	if err := from.EndTrial(ctx, id, 0, time.Now(), ""); err != nil {
		t.Fatal(err)
	}
	ended := exported(t, from)
	readBack(t, journaltest.Store(t), ended)
	swap := func(n string) *strings.Replacer {
		a, b := `"ordinal":`+n+`,"arm":"A"`, `"ordinal":`+n+`,"arm":"B"`
		return strings.NewReplacer(a, b, b, a)
	}
	text, ended = journaltest.Unsealed(text), journaltest.Unsealed(ended)
	for name, tt := range map[string]struct{ text, want string }{
		"another course":   {ended, "the trial Long or short: two courses of one trial can't be joined"},
		"an arm altered":   {swap("3").Replace(ended), "unit 3 was another arm"},
		"a block altered":  {swap("3").Replace(text), "the block that ends with unit 4 has more of one arm"},
		"a seed altered":   {strings.Replace(ended, seed, strings.Repeat("0", 64), 1), "the commitment does not fit"},
		"a seed taken out": {strings.Replace(ended, `"seed":"`+seed+`",`, "", 1), "the commitment does not fit"},
		"no such outcome":  {strings.Replace(text, `"outcome":"loss"`, `"outcome":"luck"`, 1), `outcome "luck" is not known`},
	} {
		if said := sayRead(t, store, tt.text); !strings.Contains(said, tt.want) {
			t.Errorf("%s: got %s, want something with %q", name, said, tt.want)
		}
	}
}
