package exchange_test

import (
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
)

// Ensure that a backup keeps trials with their seed, units and what is attached,
// that the order goes on as it was sealed, and that one altered is refused.
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
	id := journal.NewID()
	trial, err := from.PlanTrial(ctx, journal.Trial{ID: id, Name: "Long or short", Outcome: "loss", Factor: "rig", Arms: arms, Unit: journal.BySession, Block: 4, Worth: 1.5, MostHours: 40, Notes: "a\nb"})
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
	store := journaltest.Store(t)
	if r := readBack(t, store, text); len(r.NewTrials) != 1 {
		t.Errorf("new are %q", r.NewTrials)
	}
	if again := exported(t, store); again != text {
		t.Errorf("exported again:\n%s\nwant:\n%s", again, text)
	}
	if r := readBack(t, store, text); len(r.NewTrials) != 0 {
		t.Errorf("read twice, new are %q", r.NewTrials)
	}
	next, err := store.StartTrialUnit(ctx, id, 6, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if want, err := from.StartTrialUnit(ctx, id, 6, time.Now()); err != nil || want.Arm != next.Arm {
		t.Errorf("the order goes on with %s, not %s (%v)", next.Arm, want.Arm, err)
	}
	flipped := strings.NewReplacer(`"ordinal":3,"arm":"A"`, `"ordinal":3,"arm":"B"`, `"ordinal":3,"arm":"B"`, `"ordinal":3,"arm":"A"`).Replace(text)
	for name, tt := range map[string]struct{ text, want string }{
		"another course":  {text, "the trial Long or short differs from the journal's"},
		"an arm altered":  {flipped, "unit 3 was another arm"},
		"a seed altered":  {strings.Replace(text, trial.Seed, strings.Repeat("0", 64), 1), "the commitment does not fit"},
		"no such outcome": {strings.Replace(text, `"outcome":"loss"`, `"outcome":"luck"`, 1), `outcome "luck" is not known`},
	} {
		if _, err := exchange.ReadBackup(ctx, store, strings.NewReader(tt.text), nil); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want something with %q", name, err, tt.want)
		}
	}
}
