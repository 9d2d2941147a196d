package web

import (
	"context"
	"strings"

	"rigtally/journal"
)

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
func (s *Server) known(ctx context.Context) (k known, err error) {
	if k.anglers, err = s.store.Anglers(ctx); err != nil {
		return k, err
	}
	if k.waters, err = s.store.Waters(ctx); err != nil {
		return k, err
	}
	k.rigs, err = s.store.RigsToLog(ctx)
	return k, err
}
