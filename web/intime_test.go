package web_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/web/webtest"
)

// Ensure that a form whose COMMIT hangs, as for want of a copy, and one that waits to write are answered in time: that it is
// unsure, and that nothing is saved.
func TestAnsweredInTime(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	conn := webtest.Got(pgx.Connect(t.Context(), pgtest.AsSuperuser(s.Database)))(t)
	defer conn.Close(t.Context())
	do := func(sql string) {
		t.Helper()
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	form := webtest.Fields(s.Get("/settings").Body)
	send := func(words ...string) {
		t.Helper()
		begin := time.Now()
		got := s.Post("/settings", form)
		if took := time.Since(begin); got.Status != http.StatusServiceUnavailable || took > 20*time.Second {
			t.Errorf("status %d after %v", got.Status, took)
		}
		webtest.WantAll(t, "the page", got.Body, words...)
	}
	s.Server.AnswerIn(time.Second)
	do(`CREATE FUNCTION hang() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN PERFORM pg_sleep(40); RETURN NULL; END';
		CREATE CONSTRAINT TRIGGER hang AFTER UPDATE ON outfit DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION hang()`)
	send("broke off before it said whether this is saved")
	do(`SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND wait_event = 'PgSleep'`)
	do("BEGIN; ALTER TABLE outfit DISABLE TRIGGER hang; SELECT FROM outfit FOR UPDATE")
	send("not answering right now", "Nothing that you sent is saved")
	do("ROLLBACK")
	if strings.Contains(s.Log.String(), "request failed") {
		t.Error(s.Log)
	}
}
