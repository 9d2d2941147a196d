//go:build unix

package pgserver

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// fakePrograms makes a folder with programs that only tell their version.
func fakePrograms(t *testing.T, version string) string {
	t.Helper()
	return fakeProgramsIn(t, openDir(t, os.TempDir()), version)
}

func fakeProgramsIn(t *testing.T, dir, version string) string {
	t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	script := fmt.Appendf(nil, "#!/bin/sh\necho '%s'\n", version)
	// A process that another test begins meanwhile would hold the file open for writing, and such a file can't be run.
	syscall.ForkLock.RLock()
	defer syscall.ForkLock.RUnlock()
	for _, name := range []string{"postgres", "initdb"} {
		if err := os.WriteFile(filepath.Join(dir, name), script, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestNoPrograms(t *testing.T) {
	t.Parallel()
	cfg := Config{DataDir: filepath.Join(openDir(t, os.TempDir()), "journal"), search: &places{path: []string{t.TempDir()}}}
	_, err := Acquire(t.Context(), cfg)
	wantError(t, err, "install PostgreSQL", "make postgres", "docker compose up -d database", "--database-url")
	if !errors.Is(err, ErrNoPostgres) {
		t.Error("not ErrNoPostgres:", err)
	}
	cfg.search.path = []string{fakePrograms(t, "postgres (PostgreSQL) 13.20")}
	_, err = Acquire(t.Context(), cfg)
	wantError(t, err, "13 in "+cfg.search.path[0], "15 to 18")
	_, err = Temporary(t.Context(), cfg)
	wantError(t, err, "make postgres")
}

func TestSearchOrder(t *testing.T) {
	t.Parallel()
	root := openDir(t, os.TempDir())
	programs := func(dir, version string) string { return fakeProgramsIn(t, filepath.Join(root, dir), version) }
	inPath := programs("path", "postgres (PostgreSQL) 15.14 (Debian 15.14-0+deb12u1)")
	old, recent := programs("usr/14/bin", "postgres (PostgreSQL) 14.19"), programs("usr/17/bin", "postgres (PostgreSQL) 17.6")
	programs("usr/19/bin", "postgres (PostgreSQL) 19beta1")
	local := programs(".postgres/bin", "postgres (PostgreSQL) 18.1")
	search := &places{path: []string{t.TempDir(), inPath}, system: []string{filepath.Join(root, "usr/*/bin")}, local: []string{filepath.Join(root, ".postgres")}}
	for _, c := range []struct {
		name string
		cfg  Config
		want int // version of the cluster
		dir  string
	}{
		{"PATH comes first", Config{search: search}, 0, inPath},
		{"the newest supported of the usual places", Config{search: &places{system: search.system, local: search.local}}, 0, recent},
		{"make postgres comes last", Config{search: &places{local: search.local}}, 0, local},
		{"a cluster gets its version", Config{search: search}, 14, old},
		{"a cluster gets its version from make postgres", Config{search: search}, 18, local},
		{"a configured folder beats all", Config{search: search, BinDir: recent}, 0, recent},
	} {
		b, err := findBinaries(c.cfg, c.want)
		if err != nil || b.dir != c.dir {
			t.Errorf("%s: got %s (%v), want %s", c.name, b.dir, err, c.dir)
		}
	}
}

func TestConfiguredFolderWithoutPrograms(t *testing.T) {
	t.Parallel()
	cfg := Config{BinDir: t.TempDir()}
	_, err := findBinaries(cfg, 0)
	wantError(t, err, cfg.BinDir, "postgres and initdb")
	cfg.BinDir = fakePrograms(t, "postgres (PostgreSQL) 12.1")
	_, err = findBinaries(cfg, 0)
	wantError(t, err, cfg.BinDir, "PostgreSQL 12", "15 to 18")
}

// Ensure that a link in a folder of PATH leads to the folder with both programs.
func TestLinkedProgram(t *testing.T) {
	t.Parallel()
	real, linked := fakePrograms(t, "postgres (PostgreSQL) 16.2"), t.TempDir()
	if err := os.Symlink(filepath.Join(real, "postgres"), filepath.Join(linked, "postgres")); err != nil {
		t.Fatal(err)
	}
	b, err := findBinaries(Config{search: &places{path: []string{linked}}}, 0)
	if err != nil || b.dir != real || b.major != 16 {
		t.Errorf("got %+v (%v), want %s", b, err, real)
	}
}

// Ensure that programs below the current folder do not run if someone else could have put them there.
func TestUntrustedLocalPrograms(t *testing.T) {
	t.Parallel()
	root := openDir(t, os.TempDir())
	local := filepath.Join(root, ".postgres")
	fakeProgramsIn(t, filepath.Join(local, "bin"), "postgres (PostgreSQL) 16.2")
	search := Config{search: &places{local: []string{local}}}
	if _, err := findBinaries(search, 0); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(local, 0o777); err != nil {
		t.Fatal(err)
	}
	if _, err := findBinaries(search, 0); !errors.Is(err, ErrNoPostgres) {
		t.Error("programs in a folder that everyone can write to were accepted:", err)
	}
}

// Ensure that root in a closed home can use what "make postgres" put there: the programs are copied to where the
// server's user can run them.
func TestLocalProgramsInClosedHome(t *testing.T) {
	t.Parallel()
	if os.Geteuid() != 0 {
		t.Skip("not root")
	}
	cfg := testConfig(t)
	b, err := findBinaries(cfg, 0)
	if err != nil {
		t.Fatal(err)
	}
	acct, err := newAccount()
	if err != nil {
		t.Fatal(err)
	}
	home := filepath.Join(t.TempDir(), "home")
	if err := os.Mkdir(home, 0o700); err != nil {
		t.Fatal(err)
	}
	local := fakeProgramsIn(t, filepath.Join(home, ".postgres", "bin"), b.version)
	b = binaries{dir: local, major: b.major, version: b.version, local: true}
	f, err := openFolder(cfg.DataDir)
	if err != nil {
		t.Fatal(err)
	}
	if err := acct.admit(f); err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second time the copy is there
		got, err := reachable(f, b, acct)
		if err != nil {
			t.Fatal(err)
		}
		if blocked := acct.blockedAt(got.dir); blocked != "" || !executable(filepath.Join(got.dir, "initdb")) {
			t.Errorf("the copy in %s cannot be run (%s)", got.dir, blocked)
		}
	}
	b.local = false
	_, err = reachable(f, b, acct)
	wantError(t, err, acct.name, "chmod o+x")
}
