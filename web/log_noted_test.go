package web

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
		f.set(notedName(0, j)+"minute", "7")
		f.set(notedName(0, j)+"note", "seen late")
		want := slices.Clone(events)
		want[j].Minute, want[j].Note = ptr(7), "seen late"
		back = f.readNoted(0, events, merge(markNoted(events), nil, saidOf(events), nil, journal.Fair))
		if !reflect.DeepEqual(back, want) {
			t.Fatalf("changed %d: %+v, want %+v", j, back, want)
		}
	}
}

func TestFormChangesTheMinuteOfAnEvent(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	k, err := b.server.known(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	f := newEntry(units.US)
	f.fillSession(b.session, k)
	f.set(notedName(0, 1)+"minute", "44")
	f.set(notedName(0, 1)+"note", "at the bridge")
	f.set(stintName(0, "at.all.lost"), "2")
	e := f.readSession(k, b.session, b.water.TimeZone)
	if len(f.faults) > 0 {
		t.Fatalf("%+v", f.faults)
	}
	fish := slices.IndexFunc(e.Session.Stints[0].Events, func(e journal.Event) bool { return e.Species != "" })
	got := e.Session.Stints[0].Events
	if len(got) != 3 || fish < 0 || *got[fish].Minute != 44 || got[fish].Note != "at the bridge" || got[fish].FishLengthMM == nil {
		t.Errorf("%s", inJSON(got))
	}
}
