package main

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"rigtally/journal"
)

// names finds what a session refers to.
type names struct {
	anglers map[journal.ID]journal.Angler
	waters  map[journal.ID]journal.Water
	rigs    map[journal.ID]journal.Rig
}

func namesOf(c journal.Contents) names {
	n := names{map[journal.ID]journal.Angler{}, map[journal.ID]journal.Water{}, map[journal.ID]journal.Rig{}}
	for _, a := range c.Anglers {
		n.anglers[a.ID] = a
	}
	for _, w := range c.Waters {
		n.waters[w.ID] = w
	}
	for _, r := range c.Rigs {
		n.rigs[r.ID] = r
	}
	return n
}

func (n names) clone() names {
	return names{maps.Clone(n.anglers), maps.Clone(n.waters), maps.Clone(n.rigs)}
}

// angler finds someone by name, without regard to case.
func (n names) angler(name string) (journal.Angler, bool) {
	for _, a := range n.anglers {
		if strings.EqualFold(a.Name, name) {
			return a, true
		}
	}
	return journal.Angler{}, false
}

// water finds a water by name, without regard to case.
func (n names) water(name string) (journal.Water, bool) {
	for _, w := range n.waters {
		if strings.EqualFold(w.Name, name) {
			return w, true
		}
	}
	return journal.Water{}, false
}

// rig finds the last revision of a name, without regard to case.
func (n names) rig(name string) (latest journal.Rig, ok bool) {
	for _, r := range n.rigs {
		if strings.EqualFold(r.Name, name) && r.Revision > latest.Revision {
			latest, ok = r, true
		}
	}
	return latest, ok
}

// beat names a beat of a water.
func (n names) beat(water, beat journal.ID) string {
	for _, b := range n.waters[water].Beats {
		if b.ID == beat {
			return b.Name
		}
	}
	return ""
}

// anglerNames lists names in the order of the alphabet, as the next two do.
func (n names) anglerNames() []string {
	return sortedNames(n.anglers, func(a journal.Angler) string { return a.Name })
}

func (n names) waterNames() []string {
	return sortedNames(n.waters, func(w journal.Water) string { return w.Name })
}

func (n names) rigNames() []string {
	return sortedNames(n.rigs, func(r journal.Rig) string { return r.Name })
}

func sortedNames[T any](all map[journal.ID]T, name func(T) string) []string {
	seen := map[string]bool{}
	for _, v := range all {
		seen[name(v)] = true
	}
	return slices.SortedFunc(maps.Keys(seen), func(a, b string) int {
		return cmp.Or(strings.Compare(strings.ToLower(a), strings.ToLower(b)), strings.Compare(a, b))
	})
}
