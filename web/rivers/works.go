package rivers

import (
	"context"
	"maps"
	"slices"
	"sync"

	"rigtally/gauges"
	"rigtally/gauges/agency"
	"rigtally/journal"
	"rigtally/web/pending"
)

// What is taken at once. A year of readings every quarter of an hour is some megabytes.
const (
	mostFile = 24 << 20 // bytes of a file
	mostOwn  = 2        // files of one visitor
)

// MostBody is more than a file with its form can be, in bytes.
const MostBody = mostFile + 1<<20

// Works is what the pages of gauges have in common for everybody: who asks the services, files that wait to be kept, and
// older readings on their way.
type Works struct {
	keeper *gauges.Keeper  // nil where nothing is read from the network
	known  []agency.Source // services, whether they are asked or not
	files  *pending.Shelf[*held]
	jobs   *pending.Jobs[[]string]

	mu   sync.Mutex
	past map[whose]*past
}

// NewWorks is one with nothing in it. The keeper is nil where nothing is read from the network.
func NewWorks(keeper *gauges.Keeper) (*Works, error) {
	usual, err := agency.Sources(agency.Settings{})
	if err != nil {
		return nil, err
	}
	known := append(slices.Clone(keeper.Sources()), usual...) // of a provider the first counts
	return &Works{keeper: keeper, known: known, files: pending.NewShelf[*held](mostOwn), jobs: pending.NewJobs[[]string](), past: map[whose]*past{}}, nil
}

// Close ends what is being fetched, and waits for that.
func (w *Works) Close() { w.jobs.Close() }

// held is a gauge's file that was sent and not kept yet.
type held struct {
	*pending.Upload
	water journal.ID
}

func (h *held) file() pending.File { return h.Files()[0] }

// past is the fetching of older readings for a water. What comes of it are sentences on what agencies do not have; what was
// fetched when it is stopped stays.
type past = pending.Job[[]string]

// whose names a water. Two outfits that came of one backup have waters of the same id.
type whose struct{ outfit, water journal.ID }

// pastOf is what is being fetched for a water, or was within the hour; nil for nothing.
func (w *Works) pastOf(of whose) *past {
	w.mu.Lock()
	defer w.mu.Unlock()
	if p := w.past[of]; p != nil && !p.Past() {
		return p
	}
	return nil
}

// fetch begins to fetch older readings for a water. It is false while the outfit has others on their way.
func (w *Works) fetch(of whose, work func(context.Context, *past) (failed []string)) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	p, ok := w.jobs.Start(of.outfit, work)
	if ok {
		maps.DeleteFunc(w.past, func(_ whose, p *past) bool { return p.Past() })
		w.past[of] = p
	}
	return ok
}
