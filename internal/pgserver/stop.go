//go:build unix

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

const (
	orphanGrace = 2 * time.Second // for the children of a killed server to end by themselves
	writeGrace  = 2 * time.Second // for a server that was told to stop to begin writing out what it has in memory
)

// step is a way to stop a server, and the time that it gets before the next one.
type step struct {
	signal syscall.Signal
	limit  time.Duration
}

// orderly closes connections and writes everything, and does it the hard way only when that does not work. None of
// the steps can lose what was acknowledged: it is in the write-ahead log, from which the next start recovers.
func orderly() []step { return append([]step{{syscall.SIGINT, time.Minute}}, atOnce()...) }

// atOnce writes nothing.
func atOnce() []step { return append([]step{{syscall.SIGQUIT, 10 * time.Second}}, byForce()...) }

// byForce lets no process of the server say a word.
func byForce() []step { return []step{{syscall.SIGKILL, 10 * time.Second}} }

// stopServer shuts the server down, each step within its limit, and returns when nothing of it is left. The caller
// holds start.lock. It works for a server that another process started, too.
func stopServer(ctx context.Context, cfg Config, f folder, steps []step) error {
	before, _ := readPostmaster(f.cluster())
	for _, s := range steps {
		if gone, err := s.take(ctx, cfg, f); err != nil {
			return err
		} else if gone {
			removeSockets(f, before.socketDir) // of a server that ended well and took its postmaster.pid along
			return clearStale(f)
		}
	}
	return fmt.Errorf("processes of PostgreSQL still hold the cluster %s and can't be ended, as when a disk does not answer; "+
		"look at that disk or restart the machine, then try again; the server's log is %s", f.cluster(), f.log())
}

// take stops the server in one way, and reports whether it is gone.
func (s step) take(ctx context.Context, cfg Config, f folder) (gone bool, err error) {
	var told int                  // the process that got the signal
	var since, seen time.Duration // when it got it, and when it was last seen alive
	w := wait{limit: s.limit, what: "for PostgreSQL to stop", note: cfg.note}
	_, err = w.until(ctx, func(waited time.Duration) (bool, error) {
		pm, found := readPostmaster(f.cluster())
		switch alive := found && pm.alive(f.cluster()); {
		case alive && pm.pid != told:
			told, since, seen = pm.pid, waited, waited
			return false, signalTo(pm.pid, s.signal)
		case alive:
			seen = waited
			// Told to stop in good order while it recovers from the crash of a helper process, PostgreSQL may stay in
			// between for good. What it has not begun to write the next start recovers.
			return s.signal == syscall.SIGINT && waited-since > writeGrace && !writingOut(f.cluster()), nil
		}
		free, err := serverLockFree(f)
		if err == nil && !free && (s.signal == syscall.SIGKILL || waited-seen > orphanGrace) {
			err = killOrphans(f)
		}
		gone = free
		return free, err
	})
	return gone, err
}

func signalTo(pid int, signal syscall.Signal) error {
	if err := syscall.Kill(pid, signal); err != nil && !errors.Is(err, syscall.ESRCH) {
		return fmt.Errorf("ending PostgreSQL (process %d): %w; end it yourself and try again", pid, err)
	}
	return nil
}

// killOrphans ends the children of a killed server. They work on for a server that is gone, and keep the next one
// from starting.
func killOrphans(f folder) error {
	for _, pid := range orphans(f.cluster()) {
		if err := signalTo(pid, syscall.SIGKILL); err != nil {
			return err
		}
	}
	return nil
}

// clearStale removes what a killed server left. PostgreSQL does so too, but refuses to start if the number of the
// dead process was given to another one of the same user, or if a full disk or a cut of power left the file empty. We
// know better: nobody holds server.lock. A server that somebody started by hand does not hold it either, so whatever
// still works in the cluster of a file that can't be read must end first.
func clearStale(f folder) error {
	file := filepath.Join(f.cluster(), "postmaster.pid")
	if _, err := os.Lstat(file); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if pm, found := readPostmaster(f.cluster()); found {
		removeSockets(f, pm.socketDir)
	} else if left := orphans(f.cluster()); len(left) > 0 {
		return fmt.Errorf("a PostgreSQL that rigtally did not start works in %s (processes %v); end it and try again", f.cluster(), left)
	}
	if err := os.Remove(file); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return explain(err, f.dir)
	}
	return nil
}

// serverLockFree reports whether no process of the server lives.
func serverLockFree(f folder) (bool, error) {
	lock, err := openLock(f.serverLock())
	if err != nil {
		return false, err
	}
	defer lock.Close()
	return tryLock(lock, exclusive)
}
