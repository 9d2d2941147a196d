package logging

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Whatever a session holds, a form that nobody touched gives it back, and a
// minute and note that were changed change in that event alone.
func TestDetailsOfEventsAreKeptOrChangedAlone(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(8, 8))
	for range 300 {
		events := anyEvents(r)
		f := newEntry(units.Metric)
		f.fillNoted(0, events)
		back := f.readNoted(0, events, merge(markNoted(events), nil, saidOf(events), nil, journal.Fair))
		if len(events) > 0 && !reflect.DeepEqual(back, events) {
			t.Fatalf("untouched: %+v, want %+v", back, events)
		}
		list := noted(events)
		if len(list) == 0 {
			continue
		}
		j := list[r.IntN(len(list))]
		f.Set(notedName(0, j)+"minute", "7")
		f.Set(notedName(0, j)+"note", "seen late")
		want := slices.Clone(events)
		want[j].Minute, want[j].Note = new(7), "seen late"
		back = f.readNoted(0, events, merge(markNoted(events), nil, saidOf(events), nil, journal.Fair))
		if !reflect.DeepEqual(back, want) {
			t.Fatalf("changed %d: %+v, want %+v", j, back, want)
		}
	}
}
