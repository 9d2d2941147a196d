//go:build unix

package pgserver

import (
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
)

// unix(7) and sys/un.h: the path of a socket has 108 bytes on Linux and 104 on macOS, the closing NUL included.
func TestMaxSocketPath(t *testing.T) {
	t.Parallel()
	want := map[string]int{"linux": 107, "darwin": 103}[runtime.GOOS]
	if want != 0 && maxSocketPath != want {
		t.Errorf("got %d, want %d", maxSocketPath, want)
	}
}

// Ensure that a data folder whose path is too long for a socket, or that clients would split, works.
func TestUnusableSocketPaths(t *testing.T) {
	t.Parallel()
	for _, name := range []string{strings.Repeat("long", 40), "flies, wet & 100% dry", "été's +journal"} {
		cfg := testConfig(t)
		cfg.DataDir = filepath.Join(filepath.Dir(cfg.DataDir), name)
		s := acquire(t, cfg)
		if usable := usableSocketDir(s.folder.socket()); usable != (s.at.socketDir == s.folder.socket()) {
			t.Errorf("the socket of %q is in %s", name, s.at.socketDir)
		}
		if n := value[int](t, s, "SELECT 1"); n != 1 {
			t.Error(n)
		}
		if info, err := os.Stat(s.at.socketDir); err != nil || info.Mode().Perm() != 0o700 {
			t.Errorf("the socket's folder: %v (%v), want mode 0700", info, err)
		}
		release(t, s)
		wantGone(t, s)
		if err := Stop(t.Context(), cfg); err != nil {
			t.Error(err)
		}
	}
}

// Ensure that PostgreSQL takes a quoted socket folder for one folder.
func TestQuotedSocketSetting(t *testing.T) {
	t.Parallel()
	cfg := readyConfig(t)
	s := acquire(t, cfg)
	want := `"` + s.at.socketDir + `"`
	if got := value[string](t, s, "SHOW unix_socket_directories"); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	release(t, s)
	acct, err := serverAccount(s.folder)
	if err != nil {
		t.Fatal(err)
	}
	programs, err := findBinaries(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	if acct.blockedAt(programs.dir) != "" {
		t.Skip("the programs would be copied, and PostgreSQL does not start from a folder with a quote in its name")
	}
	cfg.DataDir = filepath.Join(filepath.Dir(cfg.DataDir), `"wet" flies`)
	s = acquire(t, cfg)
	if s.at.socketDir != s.folder.socket() {
		t.Errorf("the socket is in %s, want %s", s.at.socketDir, s.folder.socket())
	}
	release(t, s)
}

// Ensure that the longest path that the system takes is used as it is, and one byte more is not.
func TestSocketPathBoundary(t *testing.T) {
	t.Parallel()
	fits := "/" + strings.Repeat("d", maxSocketPath-len("//.s.PGSQL.5432"))
	if !usableSocketDir(fits) || usableSocketDir(fits+"d") {
		t.Errorf("the boundary is not at %d bytes", maxSocketPath)
	}
}

// Ensure that a folder in /tmp that someone else prepared is refused.
func TestSquattedSocketFolder(t *testing.T) {
	t.Parallel()
	acct, err := newAccount()
	if err != nil {
		t.Skip(err)
	}
	dir := filepath.Join(t.TempDir(), "rigtally-squat")
	if err := os.Mkdir(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	wantError(t, makeSocketDir(dir, acct), dir, "not private", "--data-dir")
	if err := os.Remove(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(t.TempDir(), dir); err != nil {
		t.Fatal(err)
	}
	wantError(t, makeSocketDir(dir, acct), dir, "not private")
	if os.Geteuid() != 0 {
		return
	}
	if err := os.Remove(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Chown(dir, int(acct.uid)+4711, 0); err != nil {
		t.Fatal(err)
	}
	wantError(t, makeSocketDir(dir, acct), dir, "not private")
}

// Ensure that pgx reads an address as it was meant.
func TestSocketURL(t *testing.T) {
	t.Parallel()
	const dir, database = "/home/a b+c&d=e%20/é", "my/journal ?#1"
	address := socketURL(dir, port, Superuser, database)
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		t.Fatal(err)
	}
	if cfg.Host != dir || cfg.Database != database || cfg.User != Superuser || cfg.Port != port {
		t.Errorf("%s was read as host %q, database %q, user %q, port %d", address, cfg.Host, cfg.Database, cfg.User, cfg.Port)
	}
	if u, err := url.Parse(address); err != nil || strings.Contains(u.RawQuery, "+") {
		t.Errorf("%s has a plus sign, which libpq takes literally (%v)", address, err)
	}
}

// Ensure that PostgreSQL's own client reads an address as pgx does.
func TestURLWithPsql(t *testing.T) {
	t.Parallel()
	if err := exec.Command("psql", "--version").Run(); err != nil {
		t.Skip("no psql on this machine: ", err)
	}
	cfg := readyConfig(t)
	cfg.DataDir = filepath.Join(filepath.Dir(cfg.DataDir), "Application Support +1")
	s := acquire(t, cfg)
	if err := s.EnsureDatabase(t.Context(), "my journal"); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("psql", "-XAtc", "SELECT current_database()", s.URL("my journal")).CombinedOutput()
	if err != nil || strings.TrimSpace(string(out)) != "my journal" {
		t.Errorf("psql %s: %s (%v)", s.URL("my journal"), out, err)
	}
	release(t, s)
	if err := Stop(t.Context(), cfg); err != nil {
		t.Error(err)
	}
}
