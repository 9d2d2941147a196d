//go:build linux

package faults_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"

	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
	"rigtally/migrations"
)

// folder is where a round takes place.
type folder struct {
	data string // the data folder
	home string // and the home of whoever uses it, where files are written to
}

// What rounds begin from: an empty folder, a journal in use, and one whose tables are of an older program.
const (
	fromNothing = ""
	fromUsed    = "used"
	fromOld     = "old"
)

const (
	database    = "rigtally" // of a journal in its private server
	oldTables   = 17         // version of the tables of fromOld
	oldSessions = 40         // that both journals have
)

// patterns are the folders that rounds copy what they begin from, made when first asked for.
var patterns = struct {
	mu   sync.Mutex
	made map[string]string
	err  map[string]error
}{made: map[string]string{}, err: map[string]error{}}

// base is where folders are made: in memory where there is room, since killed processes lose nothing of what they wrote.
func base() string {
	var st syscall.Statfs_t
	if syscall.Statfs("/dev/shm", &st) == nil && uint64(st.Bavail)*uint64(st.Bsize) > 2<<30 {
		return "/dev/shm"
	}
	return ""
}

// remove removes what was made for all rounds.
func remove() error {
	var all []error
	for _, dir := range patterns.made {
		all = append(all, os.RemoveAll(dir))
	}
	if program, _ := built(); program != "" {
		all = append(all, os.RemoveAll(filepath.Dir(program)))
	}
	return errors.Join(all...)
}

// newFolder makes a folder for a round, and looks in the end that nobody works in it any more.
func newFolder(t *testing.T, from string) *folder {
	t.Helper()
	dir, err := os.MkdirTemp(base(), "rigtally-fault-")
	if err != nil {
		t.Fatal(err)
	}
	return folderIn(t, dir, from)
}

// folderIn makes the folders of a round in one that is empty.
func folderIn(t *testing.T, dir, from string) *folder {
	t.Helper()
	f := &folder{data: filepath.Join(dir, "data"), home: filepath.Join(dir, "home")}
	t.Cleanup(func() {
		if left := f.list(); left != "" && !t.Failed() {
			t.Errorf("still at work in the end:\n%s", left)
		}
		f.killAll()
		if err := os.RemoveAll(dir); err != nil && !errors.Is(err, syscall.EBUSY) { // the root of a disk stays
			t.Error(err)
		}
	})
	if err := errors.Join(os.Chmod(dir, 0o755), os.Mkdir(f.home, 0o700)); err != nil {
		t.Fatal(err)
	}
	if from == fromNothing {
		return f
	}
	pattern := patternOf(t, from)
	if out, err := exec.Command("cp", "-a", pattern, f.data).CombinedOutput(); err != nil {
		t.Fatalf("copying a data folder: %v: %s", err, out)
	}
	return f
}

// patternOf is a data folder to copy.
func patternOf(t *testing.T, from string) string {
	t.Helper()
	patterns.mu.Lock()
	defer patterns.mu.Unlock()
	if _, made := patterns.made[from]; !made {
		patterns.made[from], patterns.err[from] = makePattern(from)
	}
	if err := patterns.err[from]; err != nil {
		t.Fatalf("making a data folder to begin from: %v", err)
	}
	return filepath.Join(patterns.made[from], "data")
}

func makePattern(from string) (dir string, err error) {
	if dir, err = os.MkdirTemp(base(), "rigtally-pattern-"); err != nil {
		return dir, err
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		return dir, err
	}
	return dir, inFolder(filepath.Join(dir, "data"), oldSessions, func(server *pgserver.Server, _ *pg.Store) error {
		if from != fromOld {
			return nil
		}
		cfg, err := pgx.ParseConfig(server.KeeperURL(database))
		if err != nil {
			return err
		}
		db := stdlib.OpenDB(*cfg)
		defer db.Close()
		provider, err := goose.NewProvider(goose.DialectPostgres, db, migrations.Files)
		if err != nil {
			return err
		}
		_, err = provider.DownTo(context.Background(), oldTables)
		return err
	})
}

// inFolder makes a journal of an invented season in a data folder, and uses it.
func inFolder(data string, sessions int, use func(*pgserver.Server, *pg.Store) error) (err error) {
	ctx := context.Background()
	server, err := pgserver.Acquire(ctx, pgserver.Config{DataDir: data, Local: []string{filepath.Join(projectFolder(), ".postgres")}, Pattern: filepath.Join(projectFolder(), "bin")})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, server.Release(ctx)) }()
	if err := server.EnsureDatabase(ctx, database); err != nil {
		return err
	}
	store, err := pg.MigrateAndOpen(ctx, server.KeeperURL(database), server.ProgramURL(database))
	if err != nil {
		return err
	}
	defer store.Close()
	if err := demo.Load(ctx, store, demo.Generate(demo.Seed, sessions)); err != nil {
		return err
	}
	return use(server, store)
}

// belong are the names that a data folder has when no program is at work in it. Folders among them keep temporary
// files out by themselves: below they are looked for, and backedUp looks for those of backups, which go with the next
// backup. The note of a backup that failed stays until one is made.
var belong = []string{"backup-failed.txt", "backups", "cluster", "door", "ports", "postgres", "rigtally-journal.txt", "server.lock", "server.log", "start.lock", "users.lock"}

// leftovers fails when something is left behind: processes, half of anything, temporary files, sockets.
func (r *round) leftovers() {
	r.Helper()
	if left := r.list(); left != "" {
		r.Errorf("left at work:\n%s", left)
	}
	entries, err := os.ReadDir(r.data)
	if err != nil {
		r.Error(err)
	}
	for _, e := range entries {
		if !slices.Contains(belong, e.Name()) && !strings.HasPrefix(e.Name(), "cluster.before-") { // of an upgrade, until it is removed
			r.Errorf("left in the data folder: %s", e.Name())
		}
	}
	for _, pattern := range []string{"cluster/base/pgsql_tmp/*", "cluster/postmaster.pid", "door/.*"} {
		left, err := filepath.Glob(filepath.Join(r.data, pattern))
		if err != nil || len(left) > 0 {
			r.Errorf("left in the data folder: %v, %v", left, err)
		}
	}
	files, err := os.ReadDir(r.home)
	if err != nil {
		r.Error(err)
	}
	for _, e := range files {
		if strings.HasPrefix(e.Name(), ".") && e.Name() != ".config" && e.Name() != ".local" {
			r.Errorf("left beside the person's files: %s", e.Name())
		}
	}
}

// look is what the journal holds once all is over.
type look struct {
	sessions map[string]session
	kinds    map[string]int // how many records of each kind a backup has
}

// look runs what a person would, each within the limit, and returns what is there: nothing may be wrong, of two
// versions, or left behind.
func (r *round) look() look {
	r.Helper()
	r.must("database", "start")
	file := filepath.Join(r.home, "look.jsonl")
	r.must("export", "--to", file, "--force")
	r.must("check")
	r.oneVersion()
	r.must("database", "stop")
	r.leftovers()
	got, err := readBackup(file)
	if err != nil {
		r.Fatalf("what was exported in the end can't be read: %v", err)
	}
	return got
}

// oneVersion looks that the tables are those of this program, all of them, with no database beside the journal's.
func (r *round) oneVersion() {
	r.Helper()
	ctx := r.Context()
	status, err := pgserver.Inspect(pgserver.Config{DataDir: r.data})
	if err != nil {
		r.Fatal(err)
	}
	conn, err := pgx.Connect(ctx, status.URL(database))
	if err != nil {
		r.Fatal(err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	want, err := migrations.Latest()
	if err != nil {
		r.Fatal(err)
	}
	var databases []string
	if err := conn.QueryRow(ctx, `SELECT array_agg(datname ORDER BY datname) FROM pg_database`).Scan(&databases); err != nil {
		r.Fatal(err)
	}
	if names := []string{"postgres", database, "template0", "template1"}; !slices.Equal(databases, names) {
		r.Errorf("there are the databases %v, want %v", databases, names)
	}
	var version int64
	if err := conn.QueryRow(ctx, `SELECT max(version_id) FROM goose_db_version WHERE is_applied`).Scan(&version); err != nil || version != want {
		r.Errorf("the tables are of version %d, want %d (%v)", version, want, err)
	}
	schema, err := schemaOf(ctx, conn)
	if err != nil {
		r.Fatal(err)
	}
	same, _ := schemas.LoadOrStore(status.Major, schema)
	if schema != same {
		r.Errorf("the tables are not those that other rounds have:\n%s\nwant\n%s", schema, same)
	}
}

// schemas are the tables that the first round found that looked, by PostgreSQL's major version, which tells them in its
// own words: all must have the same.
var schemas sync.Map

// schemaOf tells all columns, constraints, indexes, policies, functions and rights of a journal's tables.
func schemaOf(ctx context.Context, conn *pgx.Conn) (string, error) {
	rows, err := conn.Query(ctx, `
		SELECT 'column ' || table_name || '.' || column_name || ' ' || data_type || ' ' || is_nullable || ' ' || coalesce(column_default, '') FROM information_schema.columns WHERE table_schema = 'public'
		UNION ALL SELECT 'constraint ' || conrelid::regclass || ' ' || conname || ' ' || pg_get_constraintdef(oid) FROM pg_constraint WHERE connamespace = 'public'::regnamespace
		UNION ALL SELECT 'index ' || indexdef FROM pg_indexes WHERE schemaname = 'public'
		UNION ALL SELECT 'policy ' || tablename || ' ' || policyname || ' ' || permissive || ' ' || roles::text || ' ' || cmd || ' ' || coalesce(qual, '') || ' ' || coalesce(with_check, '') FROM pg_policies WHERE schemaname = 'public'
		UNION ALL SELECT 'function ' || proname || ' ' || md5(prosrc) FROM pg_proc WHERE pronamespace = 'public'::regnamespace
		UNION ALL SELECT 'trigger ' || tgrelid::regclass || ' ' || pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal
		UNION ALL SELECT 'table ' || relname || ' ' || relkind::text || ' ' || relrowsecurity || ' ' || relforcerowsecurity FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'v')
		UNION ALL SELECT 'grant ' || grantee || ' ' || table_name || ' ' || privilege_type FROM information_schema.role_table_grants WHERE table_schema = 'public'
		UNION ALL SELECT 'member ' || r.rolname || ' ' || m.rolname FROM pg_auth_members a JOIN pg_roles r ON r.oid = a.roleid JOIN pg_roles m ON m.oid = a.member WHERE r.rolname LIKE 'rigtally%'
		ORDER BY 1`)
	if err != nil {
		return "", err
	}
	lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return "", fmt.Errorf("read the tables' definition: %w", err)
	}
	return strings.Join(lines, "\n"), nil
}
