// Package pending holds what visitors have begun: files that wait to be kept, and work that goes on without whoever asked for it.
package pending

import (
	"context"
	"net/url"
	"path"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/google/uuid"

	"rigtally/internal/fair"
	"rigtally/journal"
	"rigtally/web/page"
)

// What files that wait may take of the memory, in bytes.
const (
	mostHeld = 96 << 20 // of everybody
	mostOf   = 72 << 20 // of an outfit
)

// lasts is how long files wait, and for how long it is known what came of work.
const lasts = time.Hour

// Owner is for whom files are held.
type Owner struct{ outfit, person journal.ID }

// OwnerOf is whoever stands at a desk.
func OwnerOf(d *page.Desk) Owner {
	o := Owner{outfit: d.Store.OutfitID()}
	if person := d.Store.Who().Person; person != nil {
		o.person = *person
	}
	return o
}

// File is a file as it was sent.
type File struct {
	Name string
	Text []byte
}

// Name keeps the name of a file short enough to be shown, without where it lay, which some browsers send.
func Name(sent string) string {
	name := path.Base(strings.ReplaceAll(sent, `\`, "/"))
	if r := []rune(name); len(r) > 80 {
		name = string(r[:60]) + "…" + string(r[len(r)-16:])
	}
	return strings.ToValidUTF8(name, "?")
}

// Upload is what was sent at once. What a page knows of it besides stands around it.
type Upload struct {
	ID   journal.ID
	of   Owner
	gone *time.Timer

	mu      sync.Mutex
	files   []File
	choices url.Values
}

// NewUpload makes one of files.
func NewUpload(files ...File) *Upload { return &Upload{files: files, choices: url.Values{}} }

// Files are those that were sent. Who has them must not change them.
func (u *Upload) Files() []File {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.files
}

// Clear lets go of what stands in them; their names stay.
func (u *Upload) Clear() {
	u.mu.Lock()
	defer u.mu.Unlock()
	u.files = slices.Clone(u.files)
	for i := range u.files {
		u.files[i].Text = nil
	}
}

// Said is how a person wants the files read.
func (u *Upload) Said() url.Values {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.choices
}

// Choose says it.
func (u *Upload) Choose(v url.Values) {
	u.mu.Lock()
	defer u.mu.Unlock()
	u.choices = v
}

// Busy reports whether work on it is under way. What stands around it may know better.
func (u *Upload) Busy() bool { return false }

func (u *Upload) upload() *Upload { return u }

func (u *Upload) size() (n int) {
	for _, f := range u.Files() {
		n += len(f.Text)
	}
	return n
}

// Held is an upload with what stands around it.
type Held interface {
	comparable
	Busy() bool
	upload() *Upload
}

// Shelf holds uploads for an hour, each for whom they are alone. It is in memory, so that what is dropped leaves nothing behind.
type Shelf[T Held] struct {
	own     int
	mu      sync.Mutex
	held    []T                    // the last sent last
	reading fair.Queue[journal.ID] // by outfit
}

// NewShelf is an empty one, which holds so many uploads of one visitor; another one drops the oldest.
func NewShelf[T Held](own int) *Shelf[T] {
	return &Shelf[T]{own: own, reading: fair.Queue[journal.ID]{Turns: 1}}
}

// InTurn waits until a file of an outfit may be read; leave ends that. They are read one at a time, since reading one takes
// many times its size.
func (s *Shelf[T]) InTurn(ctx context.Context, outfit journal.ID) (leave func(), err error) {
	return s.reading.Enter(ctx, outfit)
}

// Put holds an upload, under an id that can't be guessed. It is false where others' files leave no room.
func (s *Shelf[T]) Put(of Owner, x T) bool {
	u := x.upload()
	u.ID, u.of = journal.ID(uuid.New()), of
	s.mu.Lock()
	defer s.mu.Unlock()
	own, size, ofOutfit := 0, u.size(), u.size()
	for _, h := range slices.Backward(slices.Clone(s.held)) {
		if h.upload().of == of && !h.Busy() {
			if own++; own >= s.own {
				s.remove(h)
			}
		}
	}
	for _, h := range s.held {
		n := h.upload().size()
		if size += n; h.upload().of.outfit == of.outfit {
			ofOutfit += n
		}
	}
	if size > mostHeld || ofOutfit > mostOf {
		return false
	}
	u.gone = time.AfterFunc(lasts, func() { s.Drop(x) })
	s.held = append(s.held, x)
	return true
}

// Own are somebody's uploads, the last sent first.
func (s *Shelf[T]) Own(of Owner) (list []T) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, h := range slices.Backward(s.held) {
		if h.upload().of == of {
			list = append(list, h)
		}
	}
	return list
}

// Find is what somebody sent; another's is as if it were not there.
func (s *Shelf[T]) Find(of Owner, id journal.ID) (found T, ok bool) {
	for _, h := range s.Own(of) {
		if h.upload().ID == id {
			return h, true
		}
	}
	return found, false
}

// Drop forgets an upload. One that work is under way on is forgotten an hour later.
func (s *Shelf[T]) Drop(x T) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if x.Busy() {
		x.upload().gone.Reset(lasts)
		return
	}
	s.remove(x)
}

func (s *Shelf[T]) remove(x T) {
	x.upload().gone.Stop()
	s.held = slices.DeleteFunc(s.held, func(h T) bool { return h == x })
}
