//go:build unix

package pgserver

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// Three files are locked with flock, which the kernel releases when its holder dies, however it dies:
//
//	start.lock   exclusive, by whoever starts or stops the server, or joins or leaves its users
//	users.lock   shared, by each process that uses the server
//	server.lock  exclusive, by the server itself and its children, who inherit the open file
const (
	shared    = syscall.LOCK_SH
	exclusive = syscall.LOCK_EX
)

// signed is the width of the process number in a lock, in bytes.
const signed = 10

// openOurs opens a file of the data folder. As root it must not be led elsewhere by a link.
func openOurs(path string, flags int) (*os.File, error) {
	f, err := os.OpenFile(path, flags|syscall.O_NOFOLLOW, 0o600)
	if err != nil {
		return nil, explain(err, filepath.Dir(path))
	}
	return f, nil
}

func openLock(path string) (*os.File, error) { return openOurs(path, os.O_RDWR|os.O_CREATE) }

// tryLock reports whether the lock was granted at once.
func tryLock(f *os.File, how int) (bool, error) {
	for {
		err := syscall.Flock(int(f.Fd()), how|syscall.LOCK_NB)
		switch {
		case err == nil:
			return true, nil
		case errors.Is(err, syscall.EINTR):
		case errors.Is(err, syscall.EWOULDBLOCK):
			return false, nil
		default:
			return false, fmt.Errorf("the file %s cannot be locked: %w; keep the journal on a local disk (--data-dir)", f.Name(), err)
		}
	}
}

// lockFile opens and locks a file, waiting for other holders.
func lockFile(ctx context.Context, cfg Config, path string, how int) (*os.File, error) {
	f, err := openLock(path)
	if err != nil {
		return nil, err
	}
	w := cfg.wait("for another rigtally that starts or stops the database")
	granted, err := w.until(ctx, func(time.Duration) (bool, error) { return tryLock(f, how) })
	if err == nil && !granted {
		err = fmt.Errorf("another rigtally%s has been starting or stopping the database in %s for more than %s; "+
			"wait until it has ended, or end it, and try again", holderOf(f), filepath.Dir(path), spoken(w.limit))
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	if how == exclusive {
		// Signed for those who wait in vain. A full disk that keeps this out is no reason to stop. It is written over
		// what was there, because some file systems write to disk at once what follows a cut.
		err = cfg.inTime(ctx, filepath.Dir(path), func() error {
			_, _ = f.WriteAt(fmt.Appendf(nil, "%*d", signed, os.Getpid()), 0)
			return nil
		})
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// holderOf names the process that has signed a lock, as " (process 4711)"; "" if none has.
func holderOf(f *os.File) string {
	name := make([]byte, signed)
	if n, _ := f.ReadAt(name, 0); n < signed {
		return ""
	}
	return fmt.Sprintf(" (process %s)", bytes.TrimSpace(name))
}
