package imports

import (
	"context"
	"sync"

	"rigtally/journal/exchange"
)

// job is the writing of an upload. It goes on without whoever asked for it.
type job struct {
	cancel context.CancelFunc

	mu          sync.Mutex
	at          string // the file that is being written
	done, total int64  // sessions of it
	ended       bool
	canceled    bool
	written     []written
	failed      []string // sentences on why a file was not written
}

// written is what came of a file.
type written struct {
	Name    string
	Result  exchange.Result
	rejects []byte // rows that were left out, as a file; nil for none
}

func (j *job) over() bool {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.ended
}

// progress says how far it is.
func (j *job) progress() (at string, done, total int64) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.at, j.done, j.total
}

// result is what it came to. It is asked for once it is over.
func (j *job) result() (list []written, failed []string, canceled bool) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.written, j.failed, j.canceled
}

func (j *job) begin(at string) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.at, j.done, j.total = at, 0, 0
}

func (j *job) went(done, total int64) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.done, j.total = done, total
}

func (j *job) wrote(w written) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.written = append(j.written, w)
}

// stop cancels it, if it is not over: the file that is being written leaves nothing behind.
func (j *job) stop() {
	j.mu.Lock()
	j.canceled = !j.ended
	j.mu.Unlock()
	j.cancel()
}

// start begins to write an upload. It is false while the outfit has another import under way.
func (t *Tray) start(u *upload, work func(context.Context, *job) (failed []string)) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.writing[u.of.outfit] != nil || t.all.Err() != nil {
		return false
	}
	ctx, cancel := context.WithCancel(t.all)
	j := &job{cancel: cancel}
	t.writing[u.of.outfit] = j
	u.mu.Lock()
	u.job = j
	u.mu.Unlock()
	t.jobs.Go(func() {
		defer cancel()
		failed := work(ctx, j)
		t.mu.Lock()
		defer t.mu.Unlock()
		delete(t.writing, u.of.outfit)
		j.mu.Lock()
		defer j.mu.Unlock()
		if j.ended, j.failed = true, failed; len(failed) == 0 && !j.canceled {
			u.clear()
		}
	})
	return true
}

// clear lets go of what has been written; what it came to stays to be shown.
func (u *upload) clear() {
	u.mu.Lock()
	defer u.mu.Unlock()
	for i := range u.files {
		u.files[i].text = nil
	}
}

// again forgets a writing that failed or was canceled, so that the files can be looked at once more.
func (u *upload) again() {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.job == nil || !u.job.over() {
		return
	}
	if _, failed, canceled := u.job.result(); len(failed) > 0 || canceled {
		u.job = nil
	}
}
