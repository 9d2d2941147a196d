package pg_test

import (
	"context"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

// changesRows is how a migration changes rows of all outfits; DEVELOPERS.md has it.
const changesRows = `
ALTER TABLE outfit NO FORCE ROW LEVEL SECURITY;
DO $$
DECLARE
    one uuid;
BEGIN
    FOR one IN SELECT id FROM outfit LOOP
        PERFORM set_config('rigtally.outfit', one::text, true);
        UPDATE session SET notes = 'changed' WHERE outfit_id = one;
        UPDATE rig SET notes = 'changed' WHERE outfit_id = one AND NOT EXISTS (SELECT FROM stint WHERE stint.outfit_id = one AND rig_id = rig.id);
    END LOOP;
END
$$;
ALTER TABLE outfit FORCE ROW LEVEL SECURITY;`

// Ensure that policies bind who owns the tables too, so that a plain UPDATE of a migration changes nothing, and that
// the way in DEVELOPERS.md changes the rows of each outfit.
func TestHowAMigrationChangesRows(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journal.Date{Year: 2026, Month: 5, Day: 2}, new(60.0)))
	spare := twoDroppers()
	spare.Name = "Never fished"
	b.save(t, spare)
	conn := connect(t, b.url)
	if _, err := b.store.AddOutfit(t.Context(), "Another outfit"); err != nil {
		t.Fatal(err)
	}
	keeper, err := pgx.Connect(t.Context(), pgtest.AsKeeper(b.url))
	if err != nil {
		t.Fatal(err)
	}
	defer keeper.Close(context.Background())
	if tag, err := keeper.Exec(t.Context(), `UPDATE session SET notes = 'changed'`); err != nil || tag.RowsAffected() != 0 {
		t.Errorf("a plain UPDATE: %v, %v; want none and no error, which is the trap", tag, err)
	}
	if _, err := keeper.Exec(t.Context(), changesRows); err != nil {
		t.Fatal(err)
	}
	if n := count(t, conn, `SELECT (SELECT count(*) FROM session WHERE notes = 'changed') + (SELECT count(*) FROM rig WHERE notes = 'changed')`); n != 2 {
		t.Errorf("%d of a session and a rig were changed", n)
	}
	if n := count(t, conn, `SELECT count(*) FROM pg_class WHERE relname = 'outfit' AND relforcerowsecurity`); n != 1 {
		t.Error("the policies of outfits are not forced again")
	}
}
