package logging

import (
	"maps"
	"math"
	"slices"

	"rigtally/journal"
)

// tagNoted is what is known of a tag through a stint, in mm.
type tagNoted struct {
	tied, start, end *float64
	changed          bool // the form gives another start or end than the journal
}

// merge brings a stint's events up to what the form's counters say. Events that
// a counter left as it was are kept as they are, word for word and in their
// order, and so are those that say more than a counter can; those that drop
// names by index are taken out. fair is the hooking of new fish that are not said to
// be foul: none where that was not counted.
func merge(was []journal.Event, drop map[int]bool, said map[int]amounts, tags map[int]tagNoted, fair journal.Hooking) []journal.Event {
	events := make([]journal.Event, 0, len(was))
	for i, e := range was {
		if !drop[i] {
			events = append(events, e)
		}
	}
	for _, place := range slices.Sorted(maps.Keys(said)) {
		events = mergeAt(events, place, said[place], tags[place], fair)
	}
	if len(events) == 0 {
		return nil
	}
	return events
}

func mergeAt(events []journal.Event, place int, said amounts, tag tagNoted, fair journal.Hooking) []journal.Event {
	was := amountsAt(events, place)
	for _, c := range cells() {
		switch c.event.Kind {
		case journal.EventHookup, journal.EventSnag:
			if said.n[c.key] != was.n[c.key] {
				if c.event.Hooking == journal.Fair {
					c.event.Hooking = fair
				}
				events = replace(events, place, []string{c.key}, c.times(place, said.n[c.key]))
			}
		case journal.EventCheck:
			if said.n[c.key] != was.n[c.key] || said.turns != was.turns {
				check := c.times(place, said.n[c.key])
				for i := range check {
					check[i].Turns = &said.turns
				}
				events = replace(events, place, []string{c.key}, check)
			}
		}
	}
	events = mergeTangles(events, place, was, said)
	if said.total(keyFlyChange, keyRetie) != was.total(keyFlyChange, keyRetie) || said.n[keyRetie] != was.n[keyRetie] ||
		!same(said.cutMM, was.cutMM) || !same(said.retieMinutes, was.retieMinutes) || tag.changed {
		events = replace(events, place, []string{keyFlyChange, keyRetie}, changes(place, said, tag))
	}
	return events
}

// times returns the cell's event, n times over, or nothing.
func (c cell) times(place, n int) []journal.Event {
	if n == 0 {
		return nil
	}
	e := c.event
	e.Position, e.Count = positionOf(place), n
	return []journal.Event{e}
}

// replace puts events in the place of those that some counters hold.
func replace(events []journal.Event, place int, keys []string, by []journal.Event) []journal.Event {
	var out []journal.Event
	done := false
	for i, key := range keysAt(events, place) {
		if key == "" || !slices.Contains(keys, key) {
			out = append(out, events[i])
			continue
		}
		if !done {
			out, done = append(out, by...), true
		}
	}
	if !done {
		out = append(out, by...)
	}
	return out
}

// mergeTangles keeps the minutes lost with the tangles. When only a count was
// changed and some tangle has no minutes noted, the others keep theirs.
func mergeTangles(events []journal.Event, place int, was, said amounts) []journal.Event {
	keys := tangleKeys()
	changed := slices.DeleteFunc(slices.Clone(keys), func(k string) bool { return said.n[k] == was.n[k] })
	if same(said.minutesLost, was.minutesLost) && (len(changed) == 0 || !allTimed(events, place)) {
		for _, k := range changed {
			events = replace(events, place, []string{k}, cellOf(k).times(place, said.n[k]))
		}
		return events
	}
	var list []journal.Event
	for _, k := range keys {
		list = append(list, cellOf(k).times(place, said.n[k])...)
	}
	share(list, journal.EventTangle, said.minutesLost)
	return replace(events, place, keys, list)
}

// allTimed reports whether there are tangles and each has its minutes noted.
func allTimed(events []journal.Event, place int) bool {
	any := false
	for i, key := range keysAt(events, place) {
		if key != "" && events[i].Kind == journal.EventTangle {
			any = true
			if events[i].MinutesLost == nil {
				return false
			}
		}
	}
	return any
}

// share deals minutes out to the events of a kind by their counts, in whole minutes
// that add up to the total.
func share(events []journal.Event, of journal.EventKind, minutes *int) {
	if minutes == nil {
		return
	}
	total := 0
	for _, e := range events {
		if e.Kind == of {
			total += e.Count
		}
	}
	seen, given := 0, 0
	for i := range events {
		if events[i].Kind != of {
			continue
		}
		seen += events[i].Count
		upTo := int(math.Round(float64(*minutes) * float64(seen) / float64(total)))
		mine := upTo - given
		events[i].MinutesLost, given = &mine, upTo
	}
}

// changes writes fly changes and re-ties in an order that the tag's length at
// the end allows: a re-tie resets the tag, so only the changes after the last
// one have shortened it. With no length at the end the re-ties are spread evenly.
func changes(place int, said amounts, tag tagNoted) []journal.Event {
	n, reties := said.n[keyFlyChange], said.n[keyRetie]
	var list []journal.Event
	add := func(key string, count int) {
		for _, e := range cellOf(key).times(place, count) {
			if key == keyFlyChange {
				e.CutMM = said.cutMM
			}
			list = append(list, e)
		}
	}
	last := n / (reties + 1)
	if reties > 0 && tag.end != nil && tag.tied != nil && said.cutMM != nil && *said.cutMM > 0 {
		last = min(n, max(0, int(math.Round((*tag.tied-*tag.end) / *said.cutMM))))
	}
	before := n - last
	for i := range reties {
		part := before*(i+1)/reties - before*i/reties
		add(keyFlyChange, part)
		add(keyRetie, 1)
	}
	add(keyFlyChange, n-before)
	share(list, journal.EventRetie, said.retieMinutes)
	return list
}
