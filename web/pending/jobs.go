package pending

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
	"time"

	"rigtally/journal"
)

// Job is work that goes on without whoever asked for it, and what comes of it.
type Job[R any] struct {
	cancel context.CancelFunc

	mu          sync.Mutex
	at          string // what is being worked on
	done, total int64  // parts of it
	ended       time.Time
	result      R
	failed      []string // sentences on why not all was done
}

// Begin says what is being worked on.
func (j *Job[R]) Begin(at string) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.at, j.done, j.total = at, 0, 0
}

// Went says how far it is.
func (j *Job[R]) Went(done, total int64) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.done, j.total = done, total
}

// Progress is what was said last.
func (j *Job[R]) Progress() (at string, done, total int64) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.at, j.done, j.total
}

// Note adds to what comes of it.
func (j *Job[R]) Note(add func(R) R) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.result = add(j.result)
}

// Result is what has come of it, and in sentences why not all was done, which is known once it is over.
func (j *Job[R]) Result() (result R, failed []string) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.result, j.failed
}

// Over reports whether it has ended.
func (j *Job[R]) Over() bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	return !j.ended.IsZero()
}

// Past reports whether it ended so long ago that nobody asks what came of it.
func (j *Job[R]) Past() bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	return !j.ended.IsZero() && time.Since(j.ended) > lasts
}

// Stop cancels it, if it is not over.
func (j *Job[R]) Stop() { j.cancel() }

// Safely does a part of it. No page is there to catch a panic, so that it is an error.
func Safely(do func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
		}
	}()
	return do()
}

// Jobs are under way, one of an outfit at a time.
type Jobs[R any] struct {
	mu    sync.Mutex
	under map[journal.ID]bool // by outfit
	all   context.Context
	stop  context.CancelFunc
	wait  sync.WaitGroup
}

// NewJobs has none.
func NewJobs[R any]() *Jobs[R] {
	j := &Jobs[R]{under: map[journal.ID]bool{}}
	j.all, j.stop = context.WithCancel(context.Background())
	return j
}

// Close stops what is under way, and waits for its end.
func (j *Jobs[R]) Close() {
	j.mu.Lock()
	j.stop()
	j.mu.Unlock()
	j.wait.Wait()
}

// Start begins work, which says why not all was done. It is false while the outfit has other work under way.
func (j *Jobs[R]) Start(outfit journal.ID, work func(context.Context, *Job[R]) (failed []string)) (*Job[R], bool) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.under[outfit] || j.all.Err() != nil {
		return nil, false
	}
	ctx, cancel := context.WithCancel(j.all)
	one := &Job[R]{cancel: cancel}
	j.under[outfit] = true
	j.wait.Go(func() {
		defer cancel()
		failed := work(ctx, one)
		j.mu.Lock()
		defer j.mu.Unlock()
		delete(j.under, outfit)
		one.mu.Lock()
		defer one.mu.Unlock()
		one.ended, one.failed = time.Now(), failed
	})
	return one, true
}
