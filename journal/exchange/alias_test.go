package exchange_test

import (
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/journaltest"
	"rigtally/journal/sheet"
)

// Ensure that a backup from before things were renamed and merged is known as the same, and that one from afterwards
// keeps the former names.
func TestBackupsAndAliases(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	store := journaltest.Store(t)
	meant := []sheet.NameRule{{Written: "J. Felt", Means: "J. Felt"}, {Written: "Tesel", Means: "Tesel"}}
	journaltest.Import(t, store, "date,angler,water,beat,rig,junction,tag_mm\n2025-04-01,Jon Felt,Tessel,Top,Short,my knot,150\n2025-04-02,J. Felt,Tessel,Low,Long,blood,165\n2025-04-03,Ada,Tesel,Top,Long,blood,165\n", sheet.Options{Names: meant})
	before := exported(t, store)
	named := func(kind journal.ThingKind, name string) journal.Thing { return journal.Thing{Kind: kind, Name: name} }
	for _, m := range [][2]journal.Thing{{named("angler", "Jon Felt"), named("angler", "J. Felt")}, {named("water", "Tesel"), named("water", "Tessel")}, {named("knot", "my knot"), named("knot", "uni")}} {
		if _, err := store.Merge(ctx, m[0], m[1]); err != nil {
			t.Fatal(err)
		}
	}
	for _, r := range []struct {
		of   journal.Thing
		name string
	}{{named("angler", "Ada"), "Ada B."}, {named("rig", "Long"), "Longest"}, {named("water", "Tessel"), "River Tessel"}} {
		if _, err := store.Rename(ctx, r.of, r.name); err != nil {
			t.Fatal(err)
		}
	}
	after := exported(t, store)
	if n := strings.Count(after, `{"alias":`); n != 7 || strings.Contains(before, "alias") {
		t.Fatalf("%d aliases in\n%s", n, after)
	}
	if r := readBack(t, store, before); r.AlreadyThere != 3 || r.Added > 0 || len(r.NewAnglers)+len(r.NewWaters)+len(r.NewRigs) > 0 {
		t.Errorf("the backup from before brought %+v", r)
	}
	if again := exported(t, store); again != after {
		t.Errorf("it changed the journal: %s", journaltest.FirstDifference(after, again))
	}
	fresh := journaltest.Store(t)
	readBack(t, fresh, after)
	if again := exported(t, fresh); again != after {
		t.Errorf("read back: %s", journaltest.FirstDifference(after, again))
	}
	if a, err := fresh.AnglerNamed(ctx, "jon felt"); err != nil || a.Name != "J. Felt" {
		t.Errorf("the former name leads to %+v, %v", a, err)
	}
	if _, err := exchange.ReadBackup(ctx, journaltest.Store(t), strings.NewReader(strings.Replace(journaltest.Unsealed(after), `"kind":"angler","name":"Ada"`, `"kind":"boat","name":"Ada"`, 1)), nil); err == nil || !strings.Contains(err.Error(), "boat") {
		t.Errorf("an altered alias: %v", err)
	}
}
