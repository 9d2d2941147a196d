package exchange_test

import (
	"os"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, journal.Migrate)) }

func newStore(t testing.TB) *journal.Store {
	t.Helper()
	store, err := journal.Open(t.Context(), pgtest.NewDatabase(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	return store
}
