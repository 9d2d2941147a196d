package names

import (
	"context"
	"slices"
	"strings"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// kind is a kind of what has a name.
type kind struct {
	path  string // in addresses
	thing journal.ThingKind
	noun  string
	list  func(context.Context) ([]entry, error)
}

// entry is one thing of a kind. Only those of the same place can be one: beats of one water.
type entry struct {
	id    string   // in addresses
	also  []string // ids of its other revisions, which lead to it too
	thing journal.Thing
	name  string
	place string
	fixed bool // a word of the journal's own, which can be merged into and stays as it is
}

// title names an entry to people.
func (e entry) title() string {
	if e.place != "" {
		return e.name + " on " + e.place
	}
	return e.name
}

func (s *pages) kinds() []kind {
	return []kind{
		{"anglers", journal.ThingAngler, "angler", s.anglers},
		{"waters", journal.ThingWater, "water", s.waters},
		{"beats", journal.ThingBeat, "beat", s.beats},
		{"rigs", journal.ThingRig, "rig", s.rigs},
		{"knots", journal.ThingKnot, "knot", s.knots},
	}
}

func (s *pages) anglers(ctx context.Context) (list []entry, err error) {
	all, err := s.Store.Anglers(ctx)
	for _, a := range all {
		list = append(list, entry{id: a.ID.String(), thing: journal.Thing{Kind: journal.ThingAngler, ID: a.ID}, name: a.Name})
	}
	return list, err
}

func (s *pages) waters(ctx context.Context) (list []entry, err error) {
	all, err := s.Store.Waters(ctx)
	for _, w := range all {
		list = append(list, entry{id: w.ID.String(), thing: journal.Thing{Kind: journal.ThingWater, ID: w.ID}, name: w.Name})
	}
	return list, err
}

func (s *pages) beats(ctx context.Context) (list []entry, err error) {
	all, err := s.Store.Waters(ctx)
	for _, w := range all {
		for _, b := range w.Beats {
			list = append(list, entry{id: b.ID.String(), thing: journal.Thing{Kind: journal.ThingBeat, ID: b.ID, Water: w.ID}, name: b.Name, place: w.Name})
		}
	}
	return list, err
}

// rigs are rigs by their names, each in all its revisions.
func (s *pages) rigs(ctx context.Context) (list []entry, err error) {
	all, err := s.Store.Rigs(ctx)
	for _, r := range all {
		if i := slices.IndexFunc(list, func(e entry) bool { return strings.EqualFold(e.name, r.Name) }); i >= 0 {
			list[i].also = append(list[i].also, r.ID.String())
			continue
		}
		list = append(list, entry{id: r.ID.String(), thing: journal.Thing{Kind: journal.ThingRig, ID: r.ID}, name: r.Name})
	}
	return list, err
}

// knots are those of own names, and the journal's own words, into which they can be merged.
func (s *pages) knots(ctx context.Context) (list []entry, err error) {
	all, err := s.Store.OwnKnots(ctx)
	for _, name := range all {
		list = append(list, entry{id: name, thing: journal.Thing{Kind: journal.ThingKnot, Name: name}, name: name})
	}
	for _, j := range journal.Junctions() {
		if j != journal.JunctionOther {
			list = append(list, entry{id: string(j), thing: journal.Thing{Kind: journal.ThingKnot, Name: string(j)}, name: string(j), fixed: true})
		}
	}
	return list, err
}

// uses says how much names a thing, in words.
func (s *pages) uses(ctx context.Context, e entry) (string, error) {
	f := journal.SessionFilter{Limit: 1}
	switch id := e.thing.ID; e.thing.Kind {
	case journal.ThingAngler:
		f.Angler = &id
	case journal.ThingWater:
		f.Water = &id
	case journal.ThingRig:
		f.RigName = e.name
	case journal.ThingBeat:
		return s.usesOfBeat(ctx, e)
	case journal.ThingKnot:
		return s.usesOfKnot(ctx, e)
	}
	_, n, err := s.Store.SessionLines(ctx, f)
	return prose.Plural(n, "session", "sessions"), err
}

func (s *pages) usesOfBeat(ctx context.Context, e entry) (string, error) {
	const most = 1 << 20 // of one water: all
	lines, _, err := s.Store.SessionLines(ctx, journal.SessionFilter{Water: &e.thing.Water, Limit: most})
	n := 0
	for _, l := range lines {
		if l.Beat == e.name {
			n++
		}
	}
	return prose.Plural(n, "session", "sessions"), err
}

func (s *pages) usesOfKnot(ctx context.Context, e entry) (string, error) {
	rigs, err := s.Store.Rigs(ctx)
	n := 0
	for _, r := range rigs {
		if slices.ContainsFunc(r.Positions, func(p journal.RigPosition) bool { return p.JunctionName == e.name }) {
			n++
		}
	}
	return prose.Plural(n, "rig", "rigs"), err
}

// find is the thing of a kind that an address names.
func (k kind) find(ctx context.Context, id string) (of entry, all []entry, err error) {
	all, err = k.list(ctx)
	if err != nil {
		return of, nil, err
	}
	i := slices.IndexFunc(all, func(e entry) bool { return !e.fixed && (e.id == id || slices.Contains(e.also, id)) })
	if i < 0 {
		return of, nil, journal.ErrNotFound
	}
	return all[i], all, nil
}

// page is where an entry is renamed and merged.
func (k kind) page(e entry) string { return "/names/" + k.path + "/" + page.Segment(e.id) }
