//go:build unix

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5"
)

// upgradeVar has the test binary upgrade a data folder and kill itself at a point: "POINT FOLDER".
const upgradeVar = "RIGTALLY_TEST_UPGRADE"

func upgradeAndDie(of string) int {
	point, dir, _ := strings.Cut(of, " ")
	cfg := Config{DataDir: dir, Local: projectPrograms(), Pattern: filepath.Join(filepath.Dir(dir), "pattern"), passed: func(at string) {
		if at == point {
			_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
		}
	}}
	_, err := Upgrade(context.Background(), cfg, 0, moveWaters)
	fmt.Println("failed:", err) // at the point it should have died
	return 1
}

// moveWaters is the move of a journal that consists of one table.
func moveWaters(ctx context.Context, old, next *Server) error {
	from, err := pgx.Connect(ctx, old.URL("postgres"))
	if err != nil {
		return err
	}
	defer from.Close(context.WithoutCancel(ctx))
	to, err := pgx.Connect(ctx, next.URL("postgres"))
	if err != nil {
		return err
	}
	defer to.Close(context.WithoutCancel(ctx))
	var names []string
	if err := from.QueryRow(ctx, "SELECT array_agg(name) FROM water").Scan(&names); err != nil {
		return err
	}
	_, err = to.Exec(ctx, "CREATE TABLE water (name text)")
	if err == nil {
		_, err = to.Exec(ctx, "INSERT INTO water SELECT unnest($1::text[])", names)
	}
	return err
}

// upgradable is a journal that can be upgraded on this machine, with something in it.
func upgradable(t *testing.T) (Config, UpgradePlan) {
	t.Helper()
	cfg := readyConfig(t)
	cfg.Pattern = filepath.Join(filepath.Dir(cfg.DataDir), "pattern")
	plan, err := PlanUpgrade(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	if plan.To == 0 {
		t.Skip("no PostgreSQL newer than ", plan.From, ` is on this machine; "make postgres" fetches one`)
	}
	s := acquire(t, cfg)
	exec1(t, s, "CREATE TABLE water AS SELECT 'Invented Creek' AS name")
	release(t, s)
	return cfg, plan
}

// wantJournal checks that the journal is whole, is served by the version, takes writes, and that nothing of an
// upgrade lies about.
func wantJournal(t *testing.T, cfg Config, major int, left ...string) {
	t.Helper()
	s := acquire(t, cfg)
	if got := value[string](t, s, "SELECT string_agg(name, ',') FROM water"); got != "Invented Creek" {
		t.Errorf("the journal holds %q", got)
	}
	if got := value[int](t, s, "SELECT current_setting('server_version_num')::int / 10000"); got != major {
		t.Errorf("the journal is in PostgreSQL %d, want %d", got, major)
	}
	exec1(t, s, "CREATE TABLE written AS SELECT 1")
	release(t, s)
	found, _ := filepath.Glob(filepath.Join(cfg.DataDir, "cluster?*"))
	var names []string
	for _, path := range found {
		names = append(names, filepath.Base(path))
	}
	if fmt.Sprint(names) != fmt.Sprint(left) {
		t.Errorf("beside the cluster there are %q, want %q", names, left)
	}
	if _, err := os.Lstat(s.folder.upgrade().dir); !errors.Is(err, fs.ErrNotExist) {
		t.Error("the upgrade's folder is left:", err)
	}
}

// Ensure that an upgrade that is killed, at whatever point, leaves the old journal or the new one, whole, and that the
// next command finds it.
func TestUpgradeKilled(t *testing.T) {
	t.Parallel()
	cfg, plan := upgradable(t)
	kept := fmt.Sprintf("cluster.before-%d", plan.From)
	for _, c := range []struct {
		point string
		major int
		left  []string
	}{
		{"made", plan.From, nil}, {"moved", plan.From, nil}, {"stopped", plan.From, nil}, {"ready", plan.From, nil}, // and on with the same journal
		{"away", plan.To, []string{kept}},
	} {
		h := startHolder(t, upgradeVar+"="+c.point+" "+cfg.DataDir, nil)
		if err := h.cmd.Wait(); err == nil || h.cmd.ProcessState.Sys().(syscall.WaitStatus).Signal() != syscall.SIGKILL {
			t.Fatalf("%s: the upgrade ended with %v", c.point, err)
		}
		if st, err := Inspect(cfg); err != nil || st.Major != plan.From && st.Major != plan.To {
			t.Errorf("%s: Inspect finds PostgreSQL %d, %v", c.point, st.Major, err)
		}
		wantJournal(t, cfg, c.major, c.left...)
		s := acquire(t, cfg)
		exec1(t, s, "DROP TABLE written")
		release(t, s)
	}
}

// Ensure that an upgrade is done whole, that its old cluster stays until it is removed, and that there is no way back.
func TestUpgrade(t *testing.T) {
	t.Parallel()
	cfg, plan := upgradable(t)
	done, err := Upgrade(t.Context(), cfg, plan.To, func(ctx context.Context, old, next *Server) error {
		if _, err := connect(t, old.URL("postgres")).Exec(ctx, "CREATE TABLE late ()"); err == nil {
			t.Error("the old server takes writes that nobody copies")
		}
		if _, err := Acquire(ctx, Config{DataDir: cfg.DataDir, Local: cfg.Local, patience: 1}); err == nil {
			t.Error("another command works with the journal meanwhile")
		}
		return moveWaters(ctx, old, next)
	})
	if err != nil || done.From != plan.From || done.To != plan.To {
		t.Fatal(done, err)
	}
	wantJournal(t, cfg, plan.To, filepath.Base(plan.Kept))
	if _, err := PlanUpgrade(cfg, plan.From); err == nil {
		t.Error("an upgrade to an older version is planned")
	}
	earlier, err := Earlier(cfg)
	if err != nil || len(earlier) != 1 || earlier[0].Major != plan.From || earlier[0].Bytes < 1<<20 {
		t.Errorf("earlier clusters: %+v, %v", earlier, err)
	}
	if removed, err := RemoveEarlier(t.Context(), cfg); err != nil || len(removed) != 1 {
		t.Errorf("removed %+v, %v", removed, err)
	}
	if _, err := os.Lstat(plan.Kept); !errors.Is(err, fs.ErrNotExist) {
		t.Error("the old cluster is left:", err)
	}
}

// Ensure that what stands against an upgrade is told, and the journal stays as it was.
func TestUpgradeRefused(t *testing.T) {
	t.Parallel()
	cfg, plan := upgradable(t)
	_, err := Upgrade(t.Context(), cfg, 0, func(context.Context, *Server, *Server) error { return errors.New("a row differs") })
	wantError(t, err, "a row differs", "nothing was changed", fmt.Sprint(plan.From))
	user := acquire(t, cfg)
	if _, err := Upgrade(t.Context(), cfg, 0, moveWaters); !errors.Is(err, ErrInUse) {
		t.Error("of a journal in use:", err)
	}
	release(t, user)
	short := plan
	short.Free = short.Needed - 1
	wantError(t, short.possible(folder{cfg.DataDir}), "free disk", "nothing was changed")
	if err := os.Mkdir(plan.Kept, 0o700); err != nil {
		t.Fatal(err)
	}
	_, err = Upgrade(t.Context(), cfg, 0, moveWaters)
	wantError(t, err, "--remove-old")
	if err := os.Remove(plan.Kept); err != nil {
		t.Fatal(err)
	}
	wantJournal(t, cfg, plan.From)
}

// Ensure that whoever has lost the old programs is told both ways on.
func TestUpgradeWithoutOldPrograms(t *testing.T) {
	t.Parallel()
	cfg := fakeCluster(t, "15")
	cfg.search = &places{path: []string{fakePrograms(t, "postgres (PostgreSQL) 17.6")}}
	for _, try := range []func() error{
		func() error { _, err := Acquire(t.Context(), cfg); return err },
		func() error { _, err := Upgrade(t.Context(), cfg, 0, moveWaters); return err },
	} {
		err := try()
		wantError(t, err, "install PostgreSQL 15 again", "database upgrade", "backups restore")
	}
	wantUnchanged(t, cfg)
	cfg = fakeCluster(t, "14")
	_, err := Acquire(t.Context(), cfg)
	wantError(t, err, "PostgreSQL 14", "15 to 18", "database upgrade", "nothing was changed")
	wantUnchanged(t, cfg)
}
