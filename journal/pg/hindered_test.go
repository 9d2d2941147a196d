package pg_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
)

// What keeps PostgreSQL itself from working is told apart from what is wrong with what it was asked, each with what to
// do about it, and nothing is saved.
func TestWhatHindersPostgres(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	before, err := b.store.Outfit(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(t.Context(), pgtest.AsSuperuser(b.url))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	raise := func(code, message string) {
		t.Helper()
		if _, err := conn.Exec(t.Context(), fmt.Sprintf(`
			CREATE OR REPLACE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS
				$$ BEGIN RAISE EXCEPTION USING ERRCODE = '%s', MESSAGE = '%s'; END $$;
			CREATE OR REPLACE TRIGGER refuse BEFORE UPDATE ON outfit FOR EACH ROW EXECUTE FUNCTION refuse()`, code, message)); err != nil {
			t.Fatal(err)
		}
	}
	// The messages are PostgreSQL's own.
	for _, c := range []struct{ code, message, says string }{
		{"53100", `could not extend file "base/5/16384": No space left on device`, "disk that holds the journal is full, so nothing of this was saved; make room"},
		{"58030", `could not fsync file "base/5/16384": Input/output error`, "look at that disk"},
		{"42501", `could not open file "base/5/16384": Permission denied`, "its permissions back"},
		{"42501", `could not open file "base/5/16384": Read-only file system`, "the right to be written to"},
		{"57P01", `terminating connection due to administrator command`, "try again in a few seconds"},
		{"25006", `cannot execute INSERT in a read-only transaction`, "may only be read"},
		{"42501", `permission denied for table outfit`, ""},
		{"23505", `duplicate key value violates unique constraint`, ""},
	} {
		raise(c.code, c.message)
		changed := before
		changed.Name = "Changed"
		err := b.store.SetOutfit(t.Context(), changed)
		var hindered *journal.Hindered
		if errors.As(err, &hindered) != (c.says != "") || err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s, %s: %v", c.code, c.message, err)
		}
		if after, err := b.store.Outfit(t.Context()); err != nil || after != before {
			t.Errorf("%s: the outfit is now %+v (%v)", c.code, after, err)
		}
	}
	if _, err := conn.Exec(t.Context(), "ALTER DATABASE "+pgx.Identifier{conn.Config().Database}.Sanitize()+" CONNECTION LIMIT 0"); err != nil {
		t.Fatal(err)
	}
	var hindered *journal.Hindered
	if _, err := pg.Open(t.Context(), b.url); !errors.As(err, &hindered) || !strings.Contains(err.Error(), "no room for one more") {
		t.Errorf("of too many connections: %v", err)
	}
}
