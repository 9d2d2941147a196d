package pg_test

import (
	"errors"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// Ensure that outfits of one database know nothing of each other, and are found by name.
func TestSeveralOutfits(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := t.Context()
	if _, err := b.store.AddOutfit(ctx, "Invented Anglers"); err != nil {
		t.Fatal(err)
	}
	if _, err := b.store.AddOutfit(ctx, "invented anglers"); !journal.IsInvalid(err) {
		t.Errorf("a second outfit of the same name: %v", err)
	}
	if _, err := b.store.AddOutfit(ctx, "  "); !journal.IsInvalid(err) {
		t.Errorf("an outfit without a name: %v", err)
	}
	other, err := b.store.OutfitNamed(ctx, "INVENTED anglers")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.store.OutfitNamed(ctx, "Nobody"); !errors.Is(err, journal.ErrNotFound) || !strings.Contains(err.Error(), "Invented Anglers") {
		t.Errorf("an outfit that is not there: %v", err)
	}
	contents, err := other.Contents(ctx)
	if err != nil || len(contents.Anglers)+len(contents.Waters)+len(contents.Rigs) > 0 {
		t.Errorf("the new outfit holds %+v, %v", contents, err)
	}
	// The same names again, and another's ids, which mean nothing here.
	if _, err := other.AnglerNamed(ctx, b.angler.Name); err != nil {
		t.Error(err)
	}
	s := b.session(t, journal.Date{Year: 2026, Month: 5, Day: 2}, new(60.0))
	if _, err := other.SaveSession(ctx, s); err == nil {
		t.Error("a session of another outfit's angler, water and rig was stored")
	}
	if _, err := other.RigByID(ctx, b.rig.ID); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("another outfit's rig: %v", err)
	}
	if facts, err := other.Facts(ctx); err != nil || facts.Sessions() != 0 {
		t.Errorf("facts of %d sessions, %v", facts.Sessions(), err)
	}
}

// Ensure that who may not make the roles in which the program works is told what to do.
func TestMigratingWithoutTheRightToMakeRoles(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	conn := connect(t, b.url)
	for _, sql := range []string{`CREATE ROLE nobody_special LOGIN`, `GRANT SELECT, INSERT ON goose_db_version TO nobody_special`} {
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	url := strings.Replace(b.url, "rigtally_app", "nobody_special", 1)
	if err := pg.Migrate(t.Context(), url, url); err == nil || !strings.Contains(err.Error(), `ALTER ROLE "nobody_special" CREATEROLE`) || !strings.Contains(err.Error(), "migrate_url") {
		t.Errorf("it is told %v", err)
	}
}
