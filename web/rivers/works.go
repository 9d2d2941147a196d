package rivers

import (
	"context"
	"net/url"
	"slices"
	"sync"
	"time"

	"github.com/google/uuid"

	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/internal/fair"
	"rigtally/journal"
	"rigtally/web/page"
)

// What is held at once. A year of readings every quarter of an hour is some megabytes.
const (
	mostFile = 24 << 20 // bytes of a file
	mostOwn  = 2        // files of one visitor; another one drops the oldest
	mostHeld = 96 << 20 // bytes of everybody
	mostOf   = 72 << 20 // bytes of an outfit
	heldFor  = time.Hour
)

// MostBody is more than a file with its form can be, in bytes.
const MostBody = mostFile + 1<<20

// Works is what the pages of gauges have in common for everybody: who asks the services, files that wait to be kept, and
// older readings on their way. It is in memory: what is dropped leaves nothing behind.
type Works struct {
	keeper *gauges.Keeper  // nil where nothing is read from the network
	known  []agency.Source // services, whether they are asked or not

	mu      sync.Mutex
	held    []*held // the last sent last
	past    map[ofWaters]*past
	reading fair.Queue[journal.ID] // a file is read one at a time, outfit by outfit: it takes many times its size
	all     context.Context        // of what is fetched
	stop    context.CancelFunc
	jobs    sync.WaitGroup
}

// NewWorks is one with nothing in it. The keeper is nil where nothing is read from the network.
func NewWorks(keeper *gauges.Keeper) (*Works, error) {
	usual, err := agency.Sources(agency.Settings{})
	if err != nil {
		return nil, err
	}
	known := append(slices.Clone(keeper.Sources()), usual...) // of a provider the first counts
	w := &Works{keeper: keeper, known: known, past: map[ofWaters]*past{}, reading: fair.Queue[journal.ID]{Turns: 1}}
	w.all, w.stop = context.WithCancel(context.Background())
	return w, nil
}

// Close ends what is being fetched, and waits for that.
func (w *Works) Close() {
	w.stop()
	w.jobs.Wait()
}

// ofWaters names a water. Two outfits that came of one backup have waters of the same id.
type ofWaters struct{ outfit, water journal.ID }

// owner is for whom a file is held.
type owner struct{ outfit, person journal.ID }

func ownerOf(d *page.Desk) owner {
	o := owner{outfit: d.Store.OutfitID()}
	if person := d.Store.Who().Person; person != nil {
		o.person = *person
	}
	return o
}

// held is a gauge's file that was sent and not kept yet.
type held struct {
	id    journal.ID
	of    owner
	water journal.ID
	name  string
	text  []byte
	gone  *time.Timer

	mu      sync.Mutex
	choices url.Values // how it is to be read, as a person said
}

func (h *held) said() url.Values {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.choices
}

func (h *held) choose(v url.Values) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.choices = v
}

// put holds a file for an hour, under an id that can't be guessed. It is false where others' files leave no room.
func (w *Works) put(h *held) bool {
	h.id = journal.ID(uuid.New())
	w.mu.Lock()
	defer w.mu.Unlock()
	own, size, ofOutfit := 0, len(h.text), len(h.text)
	for _, other := range slices.Backward(slices.Clone(w.held)) {
		if other.of == h.of {
			if own++; own >= mostOwn {
				w.remove(other)
			}
		}
	}
	for _, other := range w.held {
		if size += len(other.text); other.of.outfit == h.of.outfit {
			ofOutfit += len(other.text)
		}
	}
	if size > mostHeld || ofOutfit > mostOf {
		return false
	}
	h.gone = time.AfterFunc(heldFor, func() { w.drop(h) })
	w.held = append(w.held, h)
	return true
}

// find is what somebody sent; another's is as if it were not there.
func (w *Works) find(of owner, id journal.ID) (*held, bool) {
	for _, h := range w.own(of) {
		if h.id == id {
			return h, true
		}
	}
	return nil, false
}

// own are somebody's files, the last sent first.
func (w *Works) own(of owner) (list []*held) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, h := range slices.Backward(w.held) {
		if h.of == of {
			list = append(list, h)
		}
	}
	return list
}

func (w *Works) drop(h *held) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.remove(h)
}

func (w *Works) remove(h *held) {
	h.gone.Stop()
	w.held = slices.DeleteFunc(w.held, func(other *held) bool { return other == h })
}

// past is the fetching of older readings for a water. It goes on without whoever asked for it.
type past struct {
	outfit journal.ID
	cancel context.CancelFunc

	mu       sync.Mutex
	at       string // the gauge that is being asked
	done, of int    // parts of its time
	ended    time.Time
	canceled bool
	failed   []string // sentences on why not all was fetched
	notes    []string // sentences on what agencies do not have
}

// progress says how far it is.
func (p *past) progress() (at string, done, of int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.at, p.done, p.of
}

func (p *past) begin(at string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.at, p.done, p.of = at, 0, 0
}

func (p *past) went(done, of int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.done, p.of = done, of
}

// told notes what an agency says of its readings.
func (p *past) told(notes []string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, n := range notes {
		if !slices.Contains(p.notes, n) {
			p.notes = append(p.notes, n)
		}
	}
}

// over reports whether it has ended, and how.
func (p *past) over() (ended, canceled bool, failed, notes []string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return !p.ended.IsZero(), p.canceled, p.failed, slices.Clone(p.notes)
}

// pastOf is what is being fetched for a water, or was within the hour; nil for nothing.
func (w *Works) pastOf(outfit, water journal.ID) *past {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.past[ofWaters{outfit, water}]
}

// fetch begins to fetch older readings for a water. It is false while the outfit has others on their way.
func (w *Works) fetch(outfit, water journal.ID, now func() time.Time, work func(context.Context, *past) (failed []string)) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.all.Err() != nil {
		return false
	}
	for id, p := range w.past {
		p.mu.Lock()
		under, old := p.ended.IsZero(), now().Sub(p.ended) > heldFor
		p.mu.Unlock()
		if under && p.outfit == outfit {
			return false
		}
		if !under && old {
			delete(w.past, id)
		}
	}
	ctx, cancel := context.WithCancel(w.all)
	p := &past{outfit: outfit, cancel: cancel}
	w.past[ofWaters{outfit, water}] = p
	w.jobs.Go(func() {
		defer cancel()
		failed := work(ctx, p)
		p.mu.Lock()
		defer p.mu.Unlock()
		p.ended, p.failed = now(), failed
	})
	return true
}

// end cancels it, if it is not over. What was fetched stays.
func (p *past) end() {
	p.mu.Lock()
	p.canceled = p.ended.IsZero()
	p.mu.Unlock()
	p.cancel()
}
