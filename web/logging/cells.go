package logging

import (
	"slices"
	"strings"
	"sync"

	"rigtally/journal"
	"rigtally/prose"
)

// cell is a counter of the log form: a shape that an event without further
// detail can have.
type cell struct {
	key, label string
	event      journal.Event
}

// section is a part of the counters that is shown together.
type section struct {
	title string // "" for the part that is always open
	cells []cell
}

func hookup(key, label string, hooking journal.Hooking, ending journal.Ending, place journal.BreakPlace) cell {
	return cell{key, label, journal.Event{Kind: journal.EventHookup, Hooking: hooking, Ending: ending, BreakPlace: place}}
}

func snag(key, label string, ending journal.Ending, place journal.BreakPlace) cell {
	return cell{key, label, journal.Event{Kind: journal.EventSnag, Ending: ending, BreakPlace: place}}
}

func tangle(key, label string, kind journal.TangleKind) cell {
	return cell{key, label, journal.Event{Kind: journal.EventTangle, TangleKind: kind}}
}

// Keys of the counters that come with an amount of their own.
const (
	keyCheck     = "check"
	keyBrokeOff  = "fish-broke-place-unknown"
	keyFlyChange = "fly-change"
	keyRetie     = "re-tie"
)

// sections lists every counter of the form.
var sections = sync.OnceValue(func() []section {
	var fish, snags []cell
	for _, place := range journal.BreakPlaces() {
		key, label := strings.ReplaceAll(string(place), " ", "-"), prose.Capital(string(place))
		fish = append(fish, hookup("fish-broke-"+key, label, journal.Fair, journal.BrokeOff, place))
		snags = append(snags, snag("snag-broke-"+key, label, journal.BrokeOff, place))
	}
	snags = append(snags, snag("snag-broke-place-unknown", "Place not noted", journal.BrokeOff, ""))
	return []section{
		{"", []cell{
			hookup("landed", "Landed", journal.Fair, journal.Landed, ""),
			hookup("lost", "Lost, hook came out", journal.Fair, journal.Lost, ""),
			hookup(keyBrokeOff, "Broken off, place not noted", journal.Fair, journal.BrokeOff, ""),
			hookup("foul", "Foul-hooked", journal.Foul, "", ""),
			tangle("twist", "Twists of the tag", journal.Twist),
			tangle("wind-knot", "Wind knots", journal.WindKnot),
			tangle("nest", "Nests", journal.Nest),
			tangle("tangle", "Tangles, kind not noted", ""),
			snag("snag-freed", "Snags that came free", journal.Freed, ""),
		}},
		{"Fish that broke off, by place", fish},
		{"Snags that broke off, by place", snags},
		{"Checks, fly changes, re-ties", []cell{
			{keyCheck, "Checks of the tag", journal.Event{Kind: journal.EventCheck}},
			{keyFlyChange, "Fly changes", journal.Event{Kind: journal.EventFlyChange}},
			{keyRetie, "Re-ties of the junction", journal.Event{Kind: journal.EventRetie}},
		}},
		{"More about fish and snags", []cell{
			hookup("hooked", "Hookups, end not noted", journal.Fair, "", ""),
			hookup("foul-landed", "Foul-hooked and landed", journal.Foul, journal.Landed, ""),
			hookup("foul-lost", "Foul-hooked and lost", journal.Foul, journal.Lost, ""),
			snag("snag", "Snags, end not noted", "", ""),
		}},
	}
})

// cells lists the counters without their sections.
var cells = sync.OnceValue(func() []cell {
	var all []cell
	for _, s := range sections() {
		all = append(all, s.cells...)
	}
	return all
})

// cellOf is the counter of a key.
func cellOf(key string) cell {
	all := cells()
	return all[slices.IndexFunc(all, func(c cell) bool { return c.key == key })]
}

// amounts are what the form says of one place on the rig.
type amounts struct {
	n            map[string]int // by the cell's key
	turns        int            // of all checks together
	cutMM        *float64       // at each fly change
	minutesLost  *int           // to all tangles together
	retieMinutes *int           // to all re-ties together
}

// wholeRig is the place of events that belong to no position.
const wholeRig = -1

func placeOf(e journal.Event) int {
	if e.Position == nil {
		return wholeRig
	}
	return *e.Position
}

func positionOf(place int) *int {
	if place == wholeRig {
		return nil
	}
	return &place
}

// keysAt tells for each event which counter of the place holds it: "" for
// events of other places and for those that say more than a counter can.
func keysAt(events []journal.Event, place int) []string {
	keys := make([]string, len(events))
	var cut *float64
	seen := false
	all := cells()
	for i, e := range events {
		if placeOf(e) != place || e.Minute != nil || e.Species != "" || e.FishLengthMM != nil || e.Note != "" {
			continue
		}
		if e.Kind == journal.EventFlyChange {
			if !seen {
				cut, seen = e.CutMM, true
			}
			if !same(cut, e.CutMM) {
				continue // one cut each is all that the form can say
			}
		}
		keys[i] = keyOf(all, e)
	}
	return keys
}

// keyOf finds the counter of an event. One of fair fish holds also those of which
// fair or foul was not told.
func keyOf(all []cell, e journal.Event) string {
	if e.Kind == journal.EventHookup && e.Hooking == "" {
		e.Hooking = journal.Fair
	}
	for _, c := range all {
		if t := c.event; t.Kind == e.Kind && t.Hooking == e.Hooking && t.Ending == e.Ending && t.BreakPlace == e.BreakPlace && t.TangleKind == e.TangleKind {
			return c.key
		}
	}
	return ""
}

func same[T comparable](a, b *T) bool {
	return a == nil && b == nil || a != nil && b != nil && *a == *b
}

// amountsAt adds up what the counters of a place hold.
func amountsAt(events []journal.Event, place int) amounts {
	a := amounts{n: map[string]int{}}
	for i, key := range keysAt(events, place) {
		if key == "" {
			continue
		}
		e := events[i]
		a.n[key] += e.Count
		switch e.Kind {
		case journal.EventCheck:
			if e.Turns != nil {
				a.turns += *e.Turns
			}
		case journal.EventFlyChange:
			a.cutMM = e.CutMM
		case journal.EventTangle:
			a.minutesLost = plus(a.minutesLost, e.MinutesLost)
		case journal.EventRetie:
			a.retieMinutes = plus(a.retieMinutes, e.MinutesLost)
		}
	}
	return a
}

func plus(sum, n *int) *int {
	if n == nil {
		return sum
	}
	total := *n
	if sum != nil {
		total += *sum
	}
	return &total
}

func (a amounts) total(keys ...string) int {
	n := 0
	for _, k := range keys {
		n += a.n[k]
	}
	return n
}

// tangleKeys are the counters that share the minutes lost.
func tangleKeys() []string {
	var keys []string
	for _, c := range cells() {
		if c.event.Kind == journal.EventTangle {
			keys = append(keys, c.key)
		}
	}
	return keys
}

// noted lists the events that no counter of the form holds, by their index.
func noted(events []journal.Event) []int {
	var list []int
	held := map[int]bool{}
	for _, place := range places(events) {
		for i, key := range keysAt(events, place) {
			held[i] = held[i] || key != ""
		}
	}
	for i := range events {
		if !held[i] {
			list = append(list, i)
		}
	}
	return list
}

// places lists where events happened, the whole rig first.
func places(events []journal.Event) []int {
	list := []int{wholeRig}
	for _, e := range events {
		if p := placeOf(e); !slices.Contains(list, p) {
			list = append(list, p)
		}
	}
	slices.Sort(list)
	return list
}
