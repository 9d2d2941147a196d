//go:build unix

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

const (
	throwAwayPrefix = "rigtally-tmp-"
	partPrefix      = "rigtally-part-" // only partly there: being made or being removed
	roomNeeded      = 1 << 30          // bytes; a cluster takes 30 MB, a test run with many databases more
)

// throwAway is the folder of a throw-away cluster. Its lock tells whether its owner still lives.
type throwAway struct {
	dir   string
	owner *os.File
}

// Temporary makes and starts a cluster that is removed at Release, for demonstrations and tests. It lives in memory
// where that is possible, does not wait for disks, and dies with this process where the system can arrange it
// (Linux). What a killed process left of earlier ones is removed first. cfg.DataDir is ignored; settings are
// further server settings, as in "autovacuum=off".
func Temporary(ctx context.Context, cfg Config, settings ...string) (*Server, error) {
	programs, err := findBinaries(cfg, 0)
	if err != nil {
		return nil, err
	}
	acct, err := newAccount()
	if err != nil {
		return nil, err
	}
	t, err := newThrowAway(ctx, acct, acct.blockedAt(programs.dir) == "")
	if err != nil {
		return nil, err
	}
	cfg.DataDir = filepath.Join(t.dir, "data")
	cfg.attached = true
	cfg.initdb = []string{"--no-sync", "--wal-segsize=1"}
	cfg.settings = append([]string{"fsync=off", "full_page_writes=off", "synchronous_commit=off"}, settings...)
	s, err := Acquire(ctx, cfg)
	if err != nil {
		return nil, errors.Join(err, t.remove())
	}
	s.throwAway = t
	return s, nil
}

// newThrowAway makes a locked folder. Memory is left out when the programs must be copied into it: /dev/shm is
// often mounted so that nothing in it can be run.
func newThrowAway(ctx context.Context, acct account, memory bool) (*throwAway, error) {
	bases := []string{os.TempDir(), "/tmp"}
	if memory && roomIn("/dev/shm") {
		bases = append([]string{"/dev/shm"}, bases...)
	}
	var failures []error
	for _, base := range bases {
		clearLeftovers(ctx, base)
		t, err := makeThrowAway(base, acct)
		if err == nil {
			return t, nil
		}
		failures = append(failures, err)
	}
	return nil, fmt.Errorf("no folder for a throw-away journal can be made; name a writable one in TMPDIR: %w", errors.Join(failures...))
}

func roomIn(dir string) bool {
	var st syscall.Statfs_t
	return syscall.Statfs(dir, &st) == nil && uint64(st.Bavail)*uint64(st.Bsize) >= roomNeeded
}

// makeThrowAway locks the folder before it takes the name by which clearLeftovers finds it.
func makeThrowAway(base string, acct account) (t *throwAway, err error) {
	if blocked := acct.blockedAt(base); blocked != "" {
		return nil, fmt.Errorf("the user %s cannot enter %s", acct.name, blocked)
	}
	dir, err := os.MkdirTemp(base, partPrefix)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(dir))
		}
	}()
	if acct.other {
		if err := os.Chmod(dir, 0o711); err != nil {
			return nil, err
		}
	}
	owner, err := openLock(ownerLock(dir))
	if err != nil {
		return nil, err
	}
	if _, err := tryLock(owner, exclusive); err != nil {
		return nil, errors.Join(err, owner.Close())
	}
	born := filepath.Join(base, throwAwayPrefix+filepath.Base(dir)[len(partPrefix):])
	if err := os.Rename(dir, born); err != nil {
		return nil, errors.Join(err, owner.Close())
	}
	return &throwAway{dir: born, owner: owner}, nil
}

func ownerLock(dir string) string { return filepath.Join(dir, "owner.lock") }

func (t *throwAway) remove() error {
	if t == nil {
		return nil
	}
	return errors.Join(removeThrowAway(t.dir), t.owner.Close())
}

// removeThrowAway renames the folder first, so that nobody takes what is half removed for a leftover.
func removeThrowAway(dir string) error {
	part := filepath.Join(filepath.Dir(dir), partPrefix+filepath.Base(dir)[len(throwAwayPrefix):])
	if err := os.Rename(dir, part); err != nil {
		return err
	}
	return os.RemoveAll(part)
}

// clearLeftovers removes the throw-away clusters of this user whose owners were killed. What cannot be cleared is
// left for the next time.
func clearLeftovers(ctx context.Context, base string) {
	found, _ := filepath.Glob(filepath.Join(base, throwAwayPrefix+"*"))
	for _, dir := range found {
		if info, err := os.Lstat(dir); err == nil && info.IsDir() && ownerOf(info) == os.Geteuid() {
			clearLeftover(ctx, dir)
		}
	}
	parts, _ := filepath.Glob(filepath.Join(base, partPrefix+"*"))
	for _, dir := range parts {
		info, err := os.Lstat(dir)
		if err == nil && info.IsDir() && ownerOf(info) == os.Geteuid() && time.Since(info.ModTime()) > time.Hour {
			_ = os.RemoveAll(dir)
		}
	}
}

func clearLeftover(ctx context.Context, dir string) {
	owner, err := openOurs(ownerLock(dir), os.O_RDWR)
	if err != nil {
		return
	}
	defer owner.Close()
	if dead, err := tryLock(owner, exclusive); err != nil || !dead {
		return
	}
	f := folder{filepath.Join(dir, "data")}
	if known, err := ours(f); err != nil || known && stopServer(ctx, Config{}, f, atOnce()) != nil {
		return
	}
	_ = removeThrowAway(dir)
}
