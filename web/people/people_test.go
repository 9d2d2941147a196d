package people_test

import (
	"net/http"
	"os"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

func TestFirst(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	got := b.Get("/people")
	if got.Status != http.StatusOK {
		t.Error(got)
	}
	webtest.WantAll(t, "/people", got.Body, "once the journal is served to others")
}
