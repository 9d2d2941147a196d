//go:build unix

package pgserver

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestAcquireAndRelease(t *testing.T) {
	t.Parallel()
	cfg := testConfig(t)
	var notes strings.Builder
	cfg.Log = &notes
	s := acquire(t, cfg)
	if s.StartedIn() <= 0 {
		t.Error("the server started in no time")
	}
	if !strings.Contains(notes.String(), cfg.DataDir) {
		t.Errorf("the notes %q do not name the new cluster's folder", notes.String())
	}
	for setting, want := range map[string]string{
		"listen_addresses": "", "fsync": "on", "full_page_writes": "on", "synchronous_commit": "on",
		"data_checksums": "on", "server_encoding": "UTF8", "lc_collate": "C", "timezone": "UTC", "unix_socket_permissions": "0700",
	} {
		if setting == "lc_collate" { // no setting any more in newer versions
			if got := value[string](t, s, "SELECT datcollate FROM pg_database WHERE datname = current_database()"); got != want {
				t.Errorf("collation %q, want %q", got, want)
			}
			continue
		}
		if got := value[string](t, s, "SHOW "+setting); got != want {
			t.Errorf("%s is %q, want %q", setting, got, want)
		}
	}
	if got := value[string](t, s, "SELECT current_user"); got != Superuser {
		t.Errorf("user %q, want %q", got, Superuser)
	}
	if info, err := os.Stat(s.at.socketDir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the socket's folder: %v %v, want mode 0700", info.Mode(), err)
	}
	release(t, s)
	release(t, s) // the second does nothing
	wantGone(t, s)
}

// Ensure that connections over TCP are refused even if someone turns them on.
func TestHostConnectionsRejected(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	if n := value[int](t, s, "SELECT count(*) FROM pg_hba_file_rules WHERE type LIKE 'host%' AND auth_method <> 'reject'"); n != 0 {
		t.Errorf("%d rules let TCP connections in", n)
	}
}

func TestDataSurvivesRestart(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	if err := s.EnsureDatabase(t.Context(), "jour nal"); err != nil {
		t.Fatal(err)
	}
	conn := connect(t, s.URL("jour nal"))
	if _, err := conn.Exec(t.Context(), "CREATE TABLE water AS SELECT 'Invented Creek' AS name"); err != nil {
		t.Fatal(err)
	}
	release(t, s) // with a connection open, which must not hold up the stop
	s = acquire(t, cfg)
	if err := s.EnsureDatabase(t.Context(), "jour nal"); err != nil {
		t.Fatal(err)
	}
	var name string
	if err := connect(t, s.URL("jour nal")).QueryRow(t.Context(), "SELECT name FROM water").Scan(&name); err != nil || name != "Invented Creek" {
		t.Errorf("got %q (%v)", name, err)
	}
}

func TestEnsureDatabaseAtOnce(t *testing.T) {
	t.Parallel()
	s := acquire(t, readyConfig(t))
	errs := make(chan error)
	for range 4 {
		go func() { errs <- s.EnsureDatabase(t.Context(), "journal") }()
	}
	for range 4 {
		if err := <-errs; err != nil {
			t.Error(err)
		}
	}
}

// Ensure that a start that is given up leaves nothing in the way of the next one.
func TestAcquireGivenUp(t *testing.T) {
	t.Parallel()
	cfg := testConfig(t)
	ctx, cancel := context.WithCancel(t.Context())
	cfg.Log = writerFunc(func(p []byte) (int, error) { cancel(); return len(p), nil }) // as initdb begins
	_, err := Acquire(ctx, cfg)
	wantError(t, err, context.Canceled.Error())
	if left, _ := filepath.Glob(filepath.Join(cfg.DataDir, "cluster*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	cfg.Log = nil
	acquire(t, cfg)
}

// Ensure that the server's own words reach the user when it cannot start.
func TestStartFailureShowsLog(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	release(t, s)
	conf := filepath.Join(s.folder.cluster(), "postgresql.conf")
	if err := os.WriteFile(conf, []byte("no_such_setting = 1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Acquire(t.Context(), cfg)
	wantError(t, err, "no_such_setting", s.folder.log())
}

type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }

// Ensure that a database of an earlier program, which its superuser owned with all in it, is its keeper's from then on.
func TestEnsureDatabaseHandsOver(t *testing.T) {
	t.Parallel()
	s := acquire(t, readyConfig(t))
	if _, err := connect(t, s.URL("postgres")).Exec(t.Context(), `CREATE DATABASE journal`); err != nil {
		t.Fatal(err)
	}
	if _, err := connect(t, s.URL("journal")).Exec(t.Context(), `CREATE TABLE water (id serial, name text); CREATE VIEW named AS SELECT name FROM water;
		CREATE FUNCTION watch() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'`); err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second finds nothing to do
		if err := s.EnsureDatabase(t.Context(), "journal"); err != nil {
			t.Fatal(err)
		}
	}
	keeper := connect(t, s.KeeperURL("journal"))
	var others int
	if err := keeper.QueryRow(t.Context(), `SELECT (SELECT count(*) FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relowner <> current_user::regrole)
		+ (SELECT count(*) FROM pg_proc WHERE pronamespace = 'public'::regnamespace AND proowner <> current_user::regrole)
		+ (SELECT count(*) FROM pg_database WHERE datname = current_database() AND datdba <> current_user::regrole)`).Scan(&others); err != nil || others != 0 {
		t.Errorf("%d of what is in it are not the keeper's, %v", others, err)
	}
	if _, err := keeper.Exec(t.Context(), `ALTER TABLE water ADD COLUMN kind text; CREATE TABLE beat (name text)`); err != nil {
		t.Error(err)
	}
}
