package logging

import (
	"context"
	"net/http"
	"strings"
	"sync"

	"rigtally/journal"
	"rigtally/web/page"
)

// keptLists are what the log form was last filled from. While the database does
// not answer, a form that is sent can still be shown with what was typed.
type keptLists struct {
	mu    sync.Mutex
	frame page.Frame // its outfit and units
	known known
	kept  bool
}

// toLog reads what a log form needs. When the journal does not answer, it is what
// was read last, and gone says why.
func (s *Pages) toLog(r *http.Request, title string) (fr page.Frame, k known, gone, err error) {
	if fr, err = s.Frame(r, "today", title); err == nil {
		k, err = s.known(r.Context())
	}
	l := &s.lists
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case err == nil:
		l.frame, l.known, l.kept = page.Frame{Outfit: fr.Outfit, Units: fr.Units}, k, true
		return fr, k, nil, nil
	case !l.kept || r.Context().Err() != nil:
		return fr, k, nil, err
	}
	fr = l.frame
	fr.Tab, fr.Title = "today", title
	return fr, l.known, err, nil
}

// known is what the log form chooses from.
type known struct {
	anglers []journal.Angler
	waters  []journal.Water
	rigs    []journal.Rig // the last fished first
}

func (k known) rig(id journal.ID) (journal.Rig, bool) {
	for _, r := range k.rigs {
		if r.ID == id {
			return r, true
		}
	}
	return journal.Rig{}, false
}

func (k known) water(id journal.ID) (journal.Water, bool) {
	for _, w := range k.waters {
		if w.ID == id {
			return w, true
		}
	}
	return journal.Water{}, false
}

func (k known) waterNamed(name string) (journal.Water, bool) {
	for _, w := range k.waters {
		if strings.EqualFold(w.Name, name) {
			return w, true
		}
	}
	return journal.Water{}, false
}

func (k known) anglerNamed(name string) (journal.Angler, bool) {
	for _, a := range k.anglers {
		if strings.EqualFold(a.Name, name) {
			return a, true
		}
	}
	return journal.Angler{}, false
}

// known reads what the log form chooses from.
func (s *Pages) known(ctx context.Context) (k known, err error) {
	if k.anglers, err = s.Store.Anglers(ctx); err != nil {
		return k, err
	}
	if k.waters, err = s.Store.Waters(ctx); err != nil {
		return k, err
	}
	k.rigs, err = s.Store.RigsToLog(ctx)
	return k, err
}
