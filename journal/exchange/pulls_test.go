package exchange_test

import (
	"strings"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/journaltest"
	"rigtally/journal/pg"
)

func withPulls(t *testing.T) *pg.Store {
	t.Helper()
	store := journaltest.Store(t)
	tier, err := store.AnglerNamed(t.Context(), "Maud")
	if err != nil {
		t.Fatal(err)
	}
	var list []journal.BenchPull
	for i := range 3 {
		id := journal.NewID()
		list = append(list, journal.BenchPull{ID: id, Day: journal.Date{Year: 2026, Month: time.March, Day: 2 + i}, AnglerID: &tier.ID, Junction: journal.JunctionOther, JunctionName: `"Clinch" & <loop>`,
			TippetMM: 0.1524, ForceN: 13.3446648457815 + float64(i), Ending: journal.PulledBroke, BrokeAt: journal.PullBrokeMain, Label: "spool A", Note: "slow\nand steady"})
	}
	if err := store.AddBenchPulls(t.Context(), list, nil, "Imported"); err != nil {
		t.Fatal(err)
	}
	if err := store.DeleteBenchPull(t.Context(), list[2].ID, 0); err != nil {
		t.Fatal(err)
	}
	return store
}

// Ensure that a backup keeps bench pulls as they are, those that can be brought
// back too, and that reading it twice adds nothing.
func TestBackupKeepsBenchPulls(t *testing.T) {
	t.Parallel()
	from := withPulls(t)
	text := exported(t, from)
	if strings.Count(text, `{"bench_pull":`) != 3 {
		t.Fatalf("the backup holds\n%s", text)
	}
	store := journaltest.Store(t)
	if r := readBack(t, store, text); r.NewPulls != 2 {
		t.Errorf("%d pulls are new, want 2", r.NewPulls)
	}
	if again := exported(t, store); again != text {
		t.Errorf("exported again:\n%s\nwant:\n%s", again, text)
	}
	if r := readBack(t, store, text); r.NewPulls != 0 {
		t.Errorf("read twice, %d pulls are new", r.NewPulls)
	}
	gone, err := store.DeletedBenchPulls(t.Context())
	if err != nil || len(gone) != 1 {
		t.Fatalf("deleted are %+v, %v", gone, err)
	}
	if err := store.RestoreBenchPull(t.Context(), gone[0].ID, 0); err != nil {
		t.Fatal(err)
	}
	text = journaltest.Unsealed(text)
	for name, tt := range map[string]struct{ text, want string }{
		"a pull changed":  {strings.Replace(text, `"force_n":13.3446648457815`, `"force_n":14`, 1), "Left as the journal has them:\n  the bench pull of 2026-03-02"},
		"no force":        {strings.Replace(text, `"force_n":13.3446648457815`, `"force_n":0`, 1), "a force of 0 N can't be"},
		"a tier from off": {strings.Replace(text, `"angler":{"id":"`, `"angler":{"id":"0198c5a2-7d1e-7f3a-9b57-3f5c1d2e4a60","name":"Else","kind":"client","active":true}}`+"\n"+`{"angler":{"id":"`, 1), "the backup was cut or altered"},
	} {
		if said := sayRead(t, store, tt.text); !strings.Contains(said, tt.want) {
			t.Errorf("%s: got %s, want something with %q", name, said, tt.want)
		}
	}
}
