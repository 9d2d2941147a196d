package outing

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"rigtally/journal"
)

// Known finds what a session refers to.
type Known struct {
	Anglers map[journal.ID]journal.Angler
	Waters  map[journal.ID]journal.Water
	Rigs    map[journal.ID]journal.Rig

	aliases []journal.Alias // former names
}

// In lists what a journal knows.
func In(c journal.Contents) Known {
	n := Known{map[journal.ID]journal.Angler{}, map[journal.ID]journal.Water{}, map[journal.ID]journal.Rig{}, c.Aliases}
	for _, a := range c.Anglers {
		n.Anglers[a.ID] = a
	}
	for _, w := range c.Waters {
		n.Waters[w.ID] = w
	}
	for _, r := range c.Rigs {
		n.Rigs[r.ID] = r
	}
	return n
}

func (n Known) clone() Known {
	return Known{maps.Clone(n.Anglers), maps.Clone(n.Waters), maps.Clone(n.Rigs), n.aliases}
}

// angler finds someone by name, without regard to case, as the next two do.
func (n Known) angler(name string) (a journal.Angler, ok bool) {
	if a, ok = find(n.Anglers, name, anglerName); !ok {
		if id, was := n.formerly(journal.ThingAngler, name, journal.ID{}); was {
			a, ok = n.Anglers[id]
		}
	}
	return a, ok
}

func (n Known) water(name string) (w journal.Water, ok bool) {
	if w, ok = find(n.Waters, name, waterName); !ok {
		if id, was := n.formerly(journal.ThingWater, name, journal.ID{}); was {
			w, ok = n.Waters[id]
		}
	}
	return w, ok
}

// Rig finds the last revision of a name.
func (n Known) Rig(name string) (latest journal.Rig, ok bool) {
	for _, r := range n.Rigs {
		if strings.EqualFold(r.Name, name) && r.Revision > latest.Revision {
			latest, ok = r, true
		}
	}
	if id, was := n.formerly(journal.ThingRig, name, journal.ID{}); !ok && was {
		if now := n.Rigs[id].Name; now != "" && !strings.EqualFold(now, name) {
			return n.Rig(now)
		}
	}
	return latest, ok
}

// beat names a beat of a water.
func (n Known) beat(water, beat journal.ID) string {
	for _, b := range n.Waters[water].Beats {
		if b.ID == beat {
			return b.Name
		}
	}
	return ""
}

func (n Known) anglerNames() []string { return sorted(n.Anglers, anglerName) }
func (n Known) waterNames() []string  { return sorted(n.Waters, waterName) }

// RigNames lists the names of rigs in the order of the alphabet.
func (n Known) RigNames() []string {
	return sorted(n.Rigs, func(r journal.Rig) string { return r.Name })
}

func anglerName(a journal.Angler) string { return a.Name }
func waterName(w journal.Water) string   { return w.Name }

func find[T any](all map[journal.ID]T, name string, of func(T) string) (found T, ok bool) {
	for _, v := range all {
		if strings.EqualFold(of(v), name) {
			return v, true
		}
	}
	return found, false
}

func sorted[T any](all map[journal.ID]T, name func(T) string) []string {
	seen := map[string]bool{}
	for _, v := range all {
		seen[name(v)] = true
	}
	return slices.SortedFunc(maps.Keys(seen), func(a, b string) int {
		return cmp.Or(strings.Compare(strings.ToLower(a), strings.ToLower(b)), strings.Compare(a, b))
	})
}
