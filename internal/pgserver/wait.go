//go:build unix

package pgserver

import (
	"context"
	"fmt"
	"time"
)

const (
	patience   = 2 * time.Minute        // the longest wait for another process
	noteAfter  = 3 * time.Second        // then the person is told what is waited for
	pollFirst  = time.Millisecond       // between looks, at first
	pollLatest = 100 * time.Millisecond // and in the end
)

// wait is a wait for another process. It ends in any case.
type wait struct {
	limit time.Duration
	what  string // as in "for PostgreSQL to stop"
	note  func(format string, args ...any)
}

func (c Config) wait(what string) wait {
	limit := c.patience
	if limit == 0 {
		limit = patience
	}
	return wait{limit: limit, what: what, note: c.note}
}

// until asks done again and again, telling it how long that has gone on. It returns true once done does, an error
// once done does or ctx ends, and false beyond the limit.
func (w wait) until(ctx context.Context, done func(waited time.Duration) (bool, error)) (bool, error) {
	begin, told := time.Now(), false
	for {
		waited := time.Since(begin)
		if ok, err := done(waited); ok || err != nil {
			return ok, err
		}
		if waited > w.limit {
			return false, nil
		}
		if waited > noteAfter && !told {
			told = true
			w.note("Waiting %s, %s at most.", w.what, spoken(w.limit))
		}
		// A twentieth of the time so far delays the end by no more than that.
		if err := pause(ctx, min(max(pollFirst, waited/20), pollLatest)); err != nil {
			return false, fmt.Errorf("waiting %s: %w", w.what, err)
		}
	}
}

// inTime does what nothing can break off where a disk does not answer, and then leaves it to itself.
func (c Config) inTime(ctx context.Context, dir string, do func() error) error {
	done := make(chan error, 1)
	go func() { done <- do() }()
	w := c.wait("for the disk that holds " + dir)
	answered, err := w.until(ctx, func(time.Duration) (bool, error) {
		select {
		case err := <-done:
			return true, err
		case <-time.After(pollLatest): // most disks answer at once
			return false, nil
		}
	})
	if err == nil && !answered {
		err = fmt.Errorf("the disk that holds %s has not answered for %s; look at that disk, or at the network that it is reached by, or choose another folder with --data-dir", dir, spoken(w.limit))
	}
	return err
}

func pause(ctx context.Context, d time.Duration) error {
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(d):
		return nil
	}
}

// spoken says a limit in whole minutes or seconds.
func spoken(d time.Duration) string {
	n, unit := int(d.Round(time.Second)/time.Second), "second"
	if n >= 60 && n%60 == 0 {
		n, unit = n/60, "minute"
	}
	if n != 1 {
		unit += "s"
	}
	return fmt.Sprintf("%d %s", n, unit)
}
