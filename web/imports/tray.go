package imports

import (
	"context"
	"net/url"
	"strconv"
	"sync"

	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/words"
	"rigtally/web/pending"
)

// What is taken at once. A season's sheet is far below a megabyte.
const (
	mostFile  = 8 << 20  // bytes of a file
	mostFiles = 12       // of an upload
	mostLoad  = 24 << 20 // bytes of an upload
	mostOwn   = 3        // uploads of one visitor
)

// MostBody is more than an upload with its form can be, in bytes.
const MostBody = mostLoad + 1<<20

// Tray holds files between being chosen and being written, and the writing that is under way.
type Tray struct {
	*pending.Shelf[*upload]
	writing *pending.Jobs[[]written]
	words   *words.Table // what words of sheets mean

	Before func(ctx context.Context, rows int) error // is asked before so many rows are written; nil: nobody
}

// NewTray is an empty tray, for sheets in words of a table; nil is the built-in one.
func NewTray(w *words.Table) *Tray {
	return &Tray{Shelf: pending.NewShelf[*upload](mostOwn), writing: pending.NewJobs[[]written](), words: w}
}

// Close ends what is being written, which leaves nothing half written, and waits for that.
func (t *Tray) Close() { t.writing.Close() }

// job is the writing of an upload. A file that is being written when it is stopped leaves nothing behind.
type job = pending.Job[[]written]

// written is what came of a file.
type written struct {
	Name    string
	Result  exchange.Result
	rejects []byte // rows that were left out, as a file; nil for none
}

// upload is what was sent at once.
type upload struct {
	*pending.Upload

	mu  sync.Mutex
	job *job // its writing, once that was asked for
}

// said is how a person wants the files read, and how far they are written.
func (u *upload) said() (url.Values, *job) {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.Said(), u.job
}

// Busy reports whether an upload is being written.
func (u *upload) Busy() bool {
	_, j := u.said()
	return j != nil && !j.Over()
}

// start begins to write an upload, once. It is false while the outfit has another import under way.
func (t *Tray) start(outfit journal.ID, u *upload, work func(context.Context, *job) (failed []string)) (ok bool) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.job != nil { // by a second click
		return true
	}
	j, ok := t.writing.Start(outfit, func(ctx context.Context, j *job) []string {
		failed := work(ctx, j)
		if len(failed) == 0 {
			u.Clear() // what it came to stays to be shown
		}
		return failed
	})
	if ok {
		u.job = j
	}
	return ok
}

// again forgets a writing that failed, so that the files can be looked at once more.
func (u *upload) again() {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.job == nil || !u.job.Over() {
		return
	}
	if _, failed := u.job.Result(); len(failed) > 0 {
		u.job = nil
	}
}

// inTurn reads a sheet of an outfit when its turn has come.
func inTurn[T any](ctx context.Context, t *Tray, outfit journal.ID, read func() (T, error)) (sheet T, err error) {
	leave, err := t.InTurn(ctx, outfit)
	if err != nil {
		return sheet, err
	}
	defer leave()
	return read()
}

// name is a field of the form of the i-th file.
func name(file int, field string) string { return "f" + strconv.Itoa(file) + "." + field }
