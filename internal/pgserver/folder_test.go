//go:build unix

package pgserver

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

func TestForeignFilesUntouched(t *testing.T) {
	t.Parallel()
	cfg := testConfig(t)
	taxes := filepath.Join(cfg.DataDir, "taxes.ods")
	if err := errors.Join(os.Mkdir(cfg.DataDir, 0o700), os.WriteFile(taxes, []byte("x"), 0o600)); err != nil {
		t.Fatal(err)
	}
	_, err := Acquire(t.Context(), cfg)
	wantError(t, err, cfg.DataDir, "taxes.ods", "--data-dir")
	_, err = Inspect(cfg)
	wantError(t, err, "taxes.ods")
	wantError(t, Stop(t.Context(), cfg), "taxes.ods")
	if entries, err := os.ReadDir(cfg.DataDir); err != nil || len(entries) != 1 {
		t.Errorf("the folder holds %v (%v), want the one file", entries, err)
	}
	if info, err := os.Stat(cfg.DataDir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the folder's mode is now %v (%v)", info.Mode(), err)
	}
	if err := os.Remove(taxes); err != nil {
		t.Fatal(err)
	}
}

func TestDataFolderIsFile(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "journal")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Acquire(t.Context(), Config{DataDir: file})
	wantError(t, err, file, "is a file", "--data-dir")
	_, err = Acquire(t.Context(), Config{DataDir: filepath.Join(file, "below")})
	wantError(t, err, file, "--data-dir")
}

// Ensure that a folder with the root folder of a fresh disk in it counts as empty.
func TestFreshDisk(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "lost+found"), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := openFolder(dir); err != nil {
		t.Error(err)
	}
}

// Ensure that a journal of a version that rigtally or this machine cannot serve is named and left alone.
func TestOtherVersions(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ written, want string }{
		{"9.6", "pg_upgrade"}, {"13", "pg_upgrade"}, {"19", "newer rigtally"}, {"seventeen", "backup"},
	} {
		cfg := fakeCluster(t, c.written)
		_, err := Acquire(t.Context(), cfg)
		wantError(t, err, c.written, c.want, "nothing was changed")
		wantUnchanged(t, cfg)
	}
}

func TestVersionWithoutPrograms(t *testing.T) {
	t.Parallel()
	cfg := fakeCluster(t, "17")
	cfg.search = &places{path: []string{fakePrograms(t, "postgres (PostgreSQL) 15.14")}}
	_, err := Acquire(t.Context(), cfg)
	wantError(t, err, "PostgreSQL 17", "15 in "+cfg.search.path[0], "install PostgreSQL 17")
	if !errors.Is(err, ErrNoPostgres) {
		t.Error("not ErrNoPostgres:", err)
	}
	cfg.BinDir = cfg.search.path[0]
	_, err = Acquire(t.Context(), cfg)
	wantError(t, err, "PostgreSQL 17", "PostgreSQL 15", cfg.BinDir)
	wantUnchanged(t, cfg)
}

func TestBrokenCluster(t *testing.T) {
	t.Parallel()
	cfg := fakeCluster(t, "15")
	if err := os.Remove(filepath.Join(cfg.DataDir, "cluster", "PG_VERSION")); err != nil {
		t.Fatal(err)
	}
	_, err := Acquire(t.Context(), cfg)
	wantError(t, err, "PG_VERSION", "backup")
}

// fakeCluster makes a data folder with a cluster that has nothing but a version.
func fakeCluster(t *testing.T, version string) Config {
	t.Helper()
	dir := openDir(t, os.TempDir())
	f, err := openFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(os.Mkdir(f.cluster(), 0o700),
		os.WriteFile(filepath.Join(f.cluster(), "PG_VERSION"), []byte(version+"\n"), 0o600)); err != nil {
		t.Fatal(err)
	}
	if acct, err := newAccount(); err != nil {
		t.Fatal(err)
	} else if err := os.Chown(f.cluster(), int(acct.uid), int(acct.gid)); err != nil {
		t.Fatal(err)
	}
	return Config{DataDir: dir}
}

func wantUnchanged(t *testing.T, cfg Config) {
	t.Helper()
	entries, err := os.ReadDir(filepath.Join(cfg.DataDir, "cluster"))
	if err != nil || len(entries) != 1 {
		t.Errorf("the cluster holds %v (%v), want its one file", entries, err)
	}
}

// Ensure that a folder that cannot be written to is named with a remedy. Permissions do not bind root, so as root
// the test plays an unprivileged user.
func TestReadOnly(t *testing.T) {
	t.Parallel()
	cfg := testConfig(t)
	parent := filepath.Dir(cfg.DataDir)
	acct, err := newAccount()
	if err != nil {
		t.Skip(err)
	}
	var as *syscall.Credential
	if acct.other {
		as = &syscall.Credential{Uid: acct.uid, Gid: acct.gid}
	}
	asUser := func(dir string) string { return startHolder(t, holdVar+"="+dir, as).says(t) }

	// The parent is not writable for the user.
	if err := os.Chmod(parent, 0o555); err != nil {
		t.Fatal(err)
	}
	wantError(t, errors.New(asUser(cfg.DataDir)), "failed", cfg.DataDir, "permission denied", "--data-dir")
	if err := os.Chmod(parent, 0o755); err != nil {
		t.Fatal(err)
	}
	// The folder is the user's, but read-only: first empty, then with a marker.
	if err := errors.Join(os.Mkdir(cfg.DataDir, 0o555), os.Chown(cfg.DataDir, int(acct.uid), int(acct.gid))); err != nil {
		t.Fatal(err)
	}
	wantError(t, errors.New(asUser(cfg.DataDir)), "failed", cfg.DataDir, "cannot be written to", "--data-dir")
	if err := errors.Join(os.Chmod(cfg.DataDir, 0o755),
		os.WriteFile(filepath.Join(cfg.DataDir, markerName), []byte(markerText), 0o644), os.Chmod(cfg.DataDir, 0o555)); err != nil {
		t.Fatal(err)
	}
	wantError(t, errors.New(asUser(cfg.DataDir)), "failed", cfg.DataDir, "cannot be written to", "--data-dir")
	// Make way for the clean-up.
	if err := errors.Join(os.Chown(cfg.DataDir, os.Geteuid(), os.Getegid()), os.Chmod(cfg.DataDir, 0o755)); err != nil {
		t.Fatal(err)
	}
}

// Ensure that a normal user gets a server of their own, and that another user's folder is refused.
func TestUnprivilegedUser(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("only root can play another user; the other tests run as a normal user here")
	}
	acct, err := unprivileged()
	if err != nil {
		t.Skip(err)
	}
	cfg := testConfig(t)
	programs, err := findBinaries(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	if blocked := acct.blockedAt(programs.dir); blocked != "" {
		t.Skipf("the user %s cannot enter %s to run PostgreSQL", acct.name, blocked)
	}
	parent := filepath.Dir(cfg.DataDir)
	if err := os.Chown(parent, int(acct.uid), int(acct.gid)); err != nil {
		t.Fatal(err)
	}
	h := startHolder(t, holdVar+"="+cfg.DataDir, &syscall.Credential{Uid: acct.uid, Gid: acct.gid})
	h.awaitReady(t)
	_, err = Acquire(t.Context(), cfg)
	wantError(t, err, cfg.DataDir, "belongs to "+acct.name, "--data-dir")
	pm, found := readPostmaster(folder{cfg.DataDir}.cluster())
	if !found {
		t.Fatal("no server")
	}
	if info, err := os.Stat(filepath.Join("/proc", strconv.Itoa(pm.pid))); err == nil && ownerOf(info) != int(acct.uid) {
		t.Errorf("the server runs as user %d, want %d", ownerOf(info), acct.uid)
	}
	h.leave(t)
	if err := os.Chown(cfg.DataDir, 0, 0); err != nil { // so that the clean-up may look at it
		t.Fatal(err)
	}
}

// Ensure that root's server runs as another user, to whom only the cluster and the socket folder belong.
func TestRoot(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("not root")
	}
	cfg := testConfig(t)
	if err := os.Mkdir(cfg.DataDir, 0o700); err != nil { // closed, as mktemp -d leaves it
		t.Fatal(err)
	}
	s := acquire(t, cfg)
	acct, err := unprivileged()
	if err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(cfg.DataDir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			t.Fatal(err)
		}
		want := 0
		if e.Name() == "cluster" || e.Name() == "socket" {
			want = int(acct.uid)
		}
		if ownerOf(info) != want {
			t.Errorf("%s belongs to user %d, want %d", e.Name(), ownerOf(info), want)
		}
		if want == 0 && info.Mode().Perm()&0o022 != 0 {
			t.Errorf("%s has mode %v: others can write to it", e.Name(), info.Mode())
		}
	}
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.at.pid))
	if err == nil && !strings.Contains(string(status), fmt.Sprintf("\nUid:\t%d\t%d\t", acct.uid, acct.uid)) {
		t.Errorf("the server does not run as %s:\n%s", acct.name, status)
	}
}

func TestRootBelowClosedFolder(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("not root")
	}
	acct, err := unprivileged()
	if err != nil {
		t.Skip(err)
	}
	cfg := testConfig(t)
	closed := filepath.Dir(cfg.DataDir)
	if err := os.Chmod(closed, 0o700); err != nil {
		t.Fatal(err)
	}
	_, err = Acquire(t.Context(), cfg)
	wantError(t, err, acct.name, closed, "chmod o+x "+closed, "--data-dir")
}

func TestDefaultDataDir(t *testing.T) {
	if os.Geteuid() == 0 {
		if dir, err := DefaultDataDir(); err != nil || dir != "/var/lib/rigtally" {
			t.Errorf("%q (%v)", dir, err)
		}
		return
	}
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("XDG_DATA_HOME", "")
	if dir, err := DefaultDataDir(); err != nil || !strings.HasPrefix(dir, home) {
		t.Errorf("%q (%v)", dir, err)
	}
}
