package exchange_test

import (
	"os"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

func newStore(t testing.TB) *pg.Store {
	t.Helper()
	store, err := pg.Open(t.Context(), pgtest.NewDatabase(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	return store
}
