package logging

import (
	"slices"
	"strconv"
	"strings"

	"rigtally/journal"
	"rigtally/web/form"
)

// notedName is what the fields of an event's details begin with.
func notedName(i, j int) string { return stintName(i, "noted."+strconv.Itoa(j)+".") }

// fillNoted writes the details of the events that no counter holds.
func (f *entry) fillNoted(i int, events []journal.Event) {
	for _, j := range noted(events) {
		f.Set(notedName(i, j)+"minute", form.Shown(events[j].Minute, strconv.Itoa))
		f.Set(notedName(i, j)+"note", events[j].Note)
	}
}

// notedMark stands before an event's index where its note was; no note can begin so.
const notedMark = "\x00"

// markNoted puts a mark on each event that no counter holds, so that it is known
// again when the counters have been brought up to date around it.
func markNoted(events []journal.Event) []journal.Event {
	marked := slices.Clone(events)
	for _, j := range noted(events) {
		marked[j].Note = notedMark + strconv.Itoa(j)
	}
	return marked
}

// readNoted takes the marks off and brings minutes and notes up to what the form says.
func (f *entry) readNoted(i int, was, merged []journal.Event) []journal.Event {
	for n := range merged {
		mark, ok := strings.CutPrefix(merged[n].Note, notedMark)
		j, err := strconv.Atoi(mark)
		if !ok || err != nil || j < 0 || j >= len(was) {
			continue
		}
		merged[n] = was[j]
		if at := notedName(i, j); f.Values.Has(at + "note") {
			const longest = 24 * 60 // as in the journal's rules
			merged[n].Minute, merged[n].Note = f.Whole(at+"minute", longest), f.Text(at+"note")
		}
	}
	return merged
}
