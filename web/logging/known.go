package logging

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"sync"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
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
		l.frame, l.known, l.kept = page.Frame{Outfit: fr.Outfit, Units: fr.Units, Who: fr.Who}, k, true
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

// first is the first of a list that is what is looked for.
func first[T any](list []T, is func(T) bool) (found T, ok bool) {
	if i := slices.IndexFunc(list, is); i >= 0 {
		return list[i], true
	}
	return found, false
}

// names are those of a list.
func names[T any](list []T, name func(T) string) []string {
	all := make([]string, len(list))
	for i, x := range list {
		all[i] = name(x)
	}
	return all
}

func (k known) rig(id journal.ID) (journal.Rig, bool) {
	return first(k.rigs, func(r journal.Rig) bool { return r.ID == id })
}

func (k known) water(id journal.ID) (journal.Water, bool) {
	return first(k.waters, func(w journal.Water) bool { return w.ID == id })
}

func (k known) waterNamed(name string) (journal.Water, bool) {
	return first(k.waters, func(w journal.Water) bool { return strings.EqualFold(w.Name, name) })
}

func (k known) anglerNamed(name string) (journal.Angler, bool) {
	return first(k.anglers, func(a journal.Angler) bool { return strings.EqualFold(a.Name, name) })
}

// who names an angler.
func (k known) who(id journal.ID) string {
	a, _ := first(k.anglers, func(a journal.Angler) bool { return a.ID == id })
	return a.Name
}

// where names a session's water and beat.
func (k known) where(s journal.Session) string {
	w, _ := k.water(s.WaterID)
	if b := beatOf(w, s); b != "" {
		return w.Name + ", " + b
	}
	return w.Name
}

// beatOf names the beat of a session on its water, "" for none.
func beatOf(w journal.Water, s journal.Session) string {
	b, _ := first(w.Beats, func(b journal.Beat) bool { return s.BeatID != nil && *s.BeatID == b.ID })
	return b.Name
}

// latest are the rigs that are the latest revision of their name, and some others.
func (k known) latest(also func(journal.ID) bool) []journal.Rig {
	latest := map[string]int{}
	for _, r := range k.rigs {
		key := strings.ToLower(r.Name)
		latest[key] = max(latest[key], r.Revision)
	}
	return slices.DeleteFunc(slices.Clone(k.rigs), func(r journal.Rig) bool {
		return r.Revision != latest[strings.ToLower(r.Name)] && !also(r.ID)
	})
}

// rigOptions offers the latest revision of every rig, and the chosen one.
func (k known) rigOptions(chosen journal.ID, sys units.System) []form.Option {
	var list []form.Option
	for _, r := range k.latest(func(id journal.ID) bool { return id == chosen }) {
		list = append(list, form.Option{Value: r.ID.String(), Text: prose.Rig(r, sys)})
	}
	return list
}

// self is whose sessions all of these are, where they are one client's; else nil.
func (s *Pages) self() *journal.ID {
	if who := s.Store.Who(); who.IsClient() {
		return who.Angler
	}
	return nil
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
