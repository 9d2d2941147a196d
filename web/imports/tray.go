package imports

import (
	"context"
	"net/url"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/google/uuid"

	"rigtally/internal/fair"
	"rigtally/journal"
	"rigtally/journal/words"
	"rigtally/web/page"
)

// What is held at once. A season's sheet is far below a megabyte.
const (
	mostFile  = 8 << 20  // bytes of a file
	mostFiles = 12       // of an upload
	mostLoad  = 24 << 20 // bytes of an upload
	mostOwn   = 3        // uploads of one visitor; another one drops the oldest
	mostHeld  = 96 << 20 // bytes of everybody
	mostOf    = 72 << 20 // bytes of an outfit
	heldFor   = time.Hour
)

// MostBody is more than an upload with its form can be, in bytes.
const MostBody = mostLoad + 1<<20

// Tray holds files between being chosen and being written, each for whom they are alone, and the writing that is under
// way. It is in memory, so that what is dropped leaves nothing behind.
type Tray struct {
	mu      sync.Mutex
	held    []*upload              // the last sent last
	writing map[journal.ID]*job    // by outfit: one at a time
	words   *words.Table           // what words of sheets mean
	reading fair.Queue[journal.ID] // a sheet is read one at a time, outfit by outfit: it takes many times its size
	all     context.Context        // of what is written
	stop    context.CancelFunc
	jobs    sync.WaitGroup

	Before func(ctx context.Context, rows int) error // is asked before so many rows are written; nil: nobody
}

// NewTray is an empty tray, for sheets in words of a table; nil is the built-in one.
func NewTray(w *words.Table) *Tray {
	t := &Tray{words: w, writing: map[journal.ID]*job{}, reading: fair.Queue[journal.ID]{Turns: 1}}
	t.all, t.stop = context.WithCancel(context.Background())
	return t
}

// Close ends what is being written, which leaves nothing half written, and waits for that.
func (t *Tray) Close() {
	t.stop()
	t.jobs.Wait()
}

// owner is for whom files are held.
type owner struct{ outfit, person journal.ID }

func ownerOf(d *page.Desk) owner {
	o := owner{outfit: d.Store.OutfitID()}
	if person := d.Store.Who().Person; person != nil {
		o.person = *person
	}
	return o
}

// file is a file as it was sent.
type file struct {
	name string
	text []byte
}

// upload is what was sent at once.
type upload struct {
	id    journal.ID
	of    owner
	files []file
	gone  *time.Timer

	mu      sync.Mutex
	choices url.Values // how it is to be read, as a person said
	job     *job       // its writing, once that was asked for
}

func (u *upload) size() (n int) {
	for _, f := range u.files {
		n += len(f.text)
	}
	return n
}

// said is how a person wants the files read, and how far they are written.
func (u *upload) said() (url.Values, *job) {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.choices, u.job
}

func (u *upload) choose(v url.Values) {
	u.mu.Lock()
	defer u.mu.Unlock()
	u.choices = v
}

// busy reports whether an upload is being written.
func (u *upload) busy() bool {
	_, j := u.said()
	return j != nil && !j.over()
}

// put holds files for an hour, under an id that can't be guessed. It is false where others' files leave no room.
func (t *Tray) put(of owner, files []file) (*upload, bool) {
	u := &upload{id: journal.ID(uuid.New()), of: of, files: files, choices: url.Values{}}
	t.mu.Lock()
	defer t.mu.Unlock()
	own, size, ofOutfit := 0, u.size(), u.size()
	for _, h := range slices.Backward(slices.Clone(t.held)) {
		if h.of == of && !h.busy() {
			if own++; own >= mostOwn {
				t.remove(h)
			}
		}
	}
	for _, h := range t.held {
		if size += h.size(); h.of.outfit == of.outfit {
			ofOutfit += h.size()
		}
	}
	if size > mostHeld || ofOutfit > mostOf {
		return nil, false
	}
	u.gone = time.AfterFunc(heldFor, func() { t.drop(u) })
	t.held = append(t.held, u)
	return u, true
}

// find is what somebody sent; another's is as if it were not there.
func (t *Tray) find(of owner, id journal.ID) (*upload, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, u := range t.held {
		if u.id == id && u.of == of {
			return u, true
		}
	}
	return nil, false
}

// own are somebody's uploads, the last sent first.
func (t *Tray) own(of owner) (list []*upload) {
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, u := range slices.Backward(t.held) {
		if u.of == of {
			list = append(list, u)
		}
	}
	return list
}

// drop forgets an upload. One that is being written is forgotten an hour later.
func (t *Tray) drop(u *upload) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if u.busy() {
		u.gone.Reset(heldFor)
		return
	}
	t.remove(u)
}

func (t *Tray) remove(u *upload) {
	u.gone.Stop()
	t.held = slices.DeleteFunc(t.held, func(h *upload) bool { return h == u })
}

// inTurn reads a sheet of an outfit when its turn has come.
func inTurn[T any](ctx context.Context, t *Tray, outfit journal.ID, read func() (T, error)) (sheet T, err error) {
	leave, err := t.reading.Enter(ctx, outfit)
	if err != nil {
		return sheet, err
	}
	defer leave()
	return read()
}

// name is a field of the form of the i-th file.
func name(file int, field string) string { return "f" + strconv.Itoa(file) + "." + field }
