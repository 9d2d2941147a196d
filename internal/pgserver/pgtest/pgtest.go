// Package pgtest gives tests databases of their own in a throw-away PostgreSQL.
package pgtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver"
)

const (
	template   = "template_migrated"
	startLimit = time.Minute
)

// cluster is the throw-away server of one test binary. It starts when the first test asks for a database.
type cluster struct {
	migrate func(ctx context.Context, keeper, url string) error
	once    sync.Once
	server  *pgserver.Server
	err     error
	names   atomic.Int64
	copying string // how a database is copied from the template
}

// current is what Main hands to NewDatabase: the testing package leaves no other way between the two.
var current atomic.Pointer[cluster]

// Main runs the tests of a package and removes its throw-away server at the end. Use it in TestMain:
//
//	func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, migrate)) }
//
// migrate prepares a database, by the address of who keeps it for who uses it at url, once, before the first test that asks for one; it must close its
// connections. Every database of a test is a copy of it. nil leaves it empty.
func Main(m *testing.M, migrate func(ctx context.Context, keeper, url string) error) int {
	c := &cluster{migrate: migrate}
	current.Store(c)
	code := m.Run()
	if err := c.stop(); err != nil {
		fmt.Fprintln(os.Stderr, "removing the throw-away PostgreSQL:", err)
		return max(code, 1)
	}
	return code
}

// NewDatabase makes a migrated database for one test and returns its address. It is dropped when the test ends.
// Tests may call it in parallel.
func NewDatabase(t testing.TB) string {
	t.Helper()
	c := current.Load()
	if c == nil {
		t.Fatal("pgtest.NewDatabase needs a TestMain that calls pgtest.Main")
	}
	c.once.Do(c.start)
	if c.err != nil {
		t.Fatal(c.err)
	}
	name := fmt.Sprintf("test_%d", c.names.Add(1))
	if err := c.exec(t.Context(), "CREATE DATABASE "+name+" OWNER "+pgserver.Keeper+" TEMPLATE "+template+c.copying); err != nil {
		t.Fatalf("making a database for the test: %v", err)
	}
	t.Cleanup(func() {
		if err := c.exec(context.WithoutCancel(t.Context()), "DROP DATABASE "+name+" WITH (FORCE)"); err != nil {
			t.Errorf("dropping the test's database: %v", err)
		}
	})
	return c.server.ProgramURL(name)
}

// AsSuperuser is the address of a test's database for who goes round every policy.
func AsSuperuser(url string) string { return as(url, pgserver.Superuser) }

// AsKeeper is the address of a test's database for who owns its tables.
func AsKeeper(url string) string { return as(url, pgserver.Keeper) }

func as(url, user string) string { return strings.Replace(url, pgserver.Program, user, 1) }

// DataDir makes an empty folder that serves as a data folder even for root, whose t.TempDir the server's user
// cannot enter. It is removed when the test ends.
func DataDir(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "rigtally-test-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := os.RemoveAll(dir); err != nil {
			t.Error(err)
		}
	})
	if dir, err = filepath.EvalSymlinks(dir); err != nil {
		t.Fatal(err)
	}
	return dir
}

func (c *cluster) start() {
	ctx, cancel := context.WithTimeout(context.Background(), startLimit)
	defer cancel()
	// Without autovacuum nothing holds the template while it is copied, and plans do not change during a test. Little
	// memory of the server's own and a bare log of writes halve what making and dropping a database takes.
	settings := []string{"autovacuum=off", "max_connections=200", "shared_buffers=32MB", "wal_level=minimal", "max_wal_senders=0"}
	c.server, c.err = pgserver.Temporary(ctx, projectServer(), settings...)
	if c.err != nil {
		return
	}
	if c.err = c.server.EnsureDatabase(ctx, template); c.err != nil {
		return
	}
	if c.copying, c.err = c.copyStrategy(ctx); c.err != nil || c.migrate == nil {
		return
	}
	if err := c.migrate(ctx, c.server.KeeperURL(template), c.server.ProgramURL(template)); err != nil {
		c.err = fmt.Errorf("migrating the template of the tests' databases: %w", err)
	}
}

// projectServer names the folders of the project of the package under test: the one that "make postgres" fills, and
// the one of what make builds, which keeps a cluster for all packages to copy.
func projectServer() pgserver.Config {
	dir, err := os.Getwd()
	if err != nil {
		return pgserver.Config{}
	}
	for ; dir != filepath.Dir(dir); dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return pgserver.Config{Local: []string{filepath.Join(dir, ".postgres")}, Pattern: filepath.Join(dir, "bin")}
		}
	}
	return pgserver.Config{}
}

// copyStrategy chooses to copy files, where there is a choice: what is in memory takes twice as long to log.
func (c *cluster) copyStrategy(ctx context.Context) (strategy string, err error) {
	conn, err := pgx.Connect(ctx, c.server.URL("postgres"))
	if err != nil {
		return "", err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	err = conn.QueryRow(ctx, "SELECT CASE WHEN current_setting('server_version_num')::int >= 150000 THEN ' STRATEGY file_copy' ELSE '' END").Scan(&strategy)
	return strategy, err
}

func (c *cluster) exec(ctx context.Context, sql string) error {
	conn, err := pgx.Connect(ctx, c.server.URL("postgres"))
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	_, err = conn.Exec(ctx, sql)
	return err
}

func (c *cluster) stop() error {
	c.once.Do(func() { c.err = errors.New("the tests are over") })
	if c.server == nil {
		return nil
	}
	return c.server.Release(context.Background())
}
