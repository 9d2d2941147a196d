package logging

import (
	"math/rand/v2"
	"os"
	"reflect"
	"regexp"
	"slices"
	"testing"

	"rigtally/internal/units"
	"rigtally/journal"
)

// saidOf is what the form says when nobody changed anything in it.
func saidOf(events []journal.Event) map[int]amounts {
	said := map[int]amounts{}
	for _, place := range places(events) {
		said[place] = amountsAt(events, place)
	}
	return said
}

// anyEvent makes an event that the journal's rules allow, with or without detail.
func anyEvent(r *rand.Rand) journal.Event {
	pick := func(n int) bool { return r.IntN(n) == 0 }
	all := cells()
	e := all[r.IntN(len(all))].event
	e.Count = 1 + r.IntN(3)
	if pick(2) {
		e.Position = new(r.IntN(3))
	}
	if pick(4) {
		e.Minute = new(r.IntN(90))
	}
	if pick(5) {
		e.Note = "said aloud"
	}
	switch e.Kind {
	case journal.EventHookup:
		if e.Hooking == journal.Fair && pick(4) {
			e.Hooking = ""
		}
		if pick(4) {
			e.Species, e.FishLengthMM = "grayling", new(280.0)
		}
	case journal.EventTangle, journal.EventRetie:
		if pick(2) {
			e.MinutesLost = new(r.IntN(12))
		}
	case journal.EventCheck:
		e.Turns = new(r.IntN(9))
	case journal.EventFlyChange:
		if pick(2) {
			e.CutMM = new(float64(10 * (1 + r.IntN(3))))
		}
	}
	return e
}

func anyEvents(r *rand.Rand) []journal.Event {
	var events []journal.Event
	for range r.IntN(12) {
		events = append(events, anyEvent(r))
	}
	return events
}

// An edit that touches no counter keeps every event, word for word.
func TestMergeOfNothingChangesNothing(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 1))
	for range 2000 {
		was := anyEvents(r)
		if got := merge(was, nil, saidOf(was), nil, journal.Fair); !reflect.DeepEqual(got, was) {
			t.Fatalf("was %+v\ngot %+v", was, got)
		}
	}
}

// After an edit the counters say what was entered, and what no counter holds is
// still there. A fly change with another cut than the rest is the one thing that
// may change sides: it becomes the counter's when those before it are gone.
func TestMergeDoesWhatTheCountersSay(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(2, 2))
	all := cells()
	for range 2000 {
		was := anyEvents(r)
		said := saidOf(was)
		place := places(was)[r.IntN(len(places(was)))]
		c := all[r.IntN(len(all))]
		if c.key == keyFlyChange {
			continue
		}
		before := said[place].n[c.key]
		said[place].n[c.key] = r.IntN(4)
		if a := said[place]; c.key == keyCheck && a.n[c.key] == 0 {
			a.turns = 0
			said[place] = a
		}
		got := merge(was, nil, said, nil, journal.Fair)
		after := amountsAt(got, place)
		if after.n[c.key] != said[place].n[c.key] {
			t.Fatalf("%s at %d: said %d (was %d), got %d\nwas %+v\ngot %+v", c.key, place, said[place].n[c.key], before, after.n[c.key], was, got)
		}
		if len(noted(got)) != len(noted(was)) {
			t.Fatalf("%s at %d: the noted events changed\nwas %+v\ngot %+v", c.key, place, was, got)
		}
	}
}

func TestMergeSharesMinutesLost(t *testing.T) {
	t.Parallel()
	said := map[int]amounts{wholeRig: {n: map[string]int{"twist": 2, "nest": 1}, minutesLost: new(13)}}
	want := []journal.Event{
		{Kind: journal.EventTangle, TangleKind: journal.Twist, Count: 2, MinutesLost: new(9)},
		{Kind: journal.EventTangle, TangleKind: journal.Nest, Count: 1, MinutesLost: new(4)},
	}
	got := merge(nil, nil, said, nil, journal.Fair)
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("got %+v, want %+v", got, want)
	}
	if back := amountsAt(got, wholeRig); !reflect.DeepEqual(back, said[wholeRig]) {
		t.Errorf("the form would show %+v", back)
	}
}

// A tangle added to some whose minutes were not all noted leaves those as they are.
func TestMergeKeepsUntimedTangles(t *testing.T) {
	t.Parallel()
	was := []journal.Event{
		{Kind: journal.EventTangle, TangleKind: journal.Twist, Count: 1, MinutesLost: new(5)},
		{Kind: journal.EventTangle, TangleKind: journal.Nest, Count: 1},
	}
	said := saidOf(was)
	said[wholeRig].n["wind-knot"] = 1
	want := append(append([]journal.Event{}, was...), journal.Event{Kind: journal.EventTangle, TangleKind: journal.WindKnot, Count: 1})
	if got := merge(was, nil, said, nil, journal.Fair); !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestMergeDropsWhatIsTakenOut(t *testing.T) {
	t.Parallel()
	fish := journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.Landed, Species: "grayling"}
	was := []journal.Event{fish, {Kind: journal.EventSnag, Count: 1, Ending: journal.Freed}}
	if got := merge(was, map[int]bool{0: true}, saidOf(was), nil, journal.Fair); !reflect.DeepEqual(got, was[1:]) {
		t.Errorf("got %+v", got)
	}
}

// The order of fly changes and re-ties is one that the journal accepts for the
// tag's length at the end: 165 mm as tied, cut by 20 at each change.
func TestChangesFitTheTagAtTheEnd(t *testing.T) {
	t.Parallel()
	rig := journal.Rig{Positions: []journal.RigPosition{{Position: 0}, {Position: 1, Hang: journal.HangTag, TagLengthMM: new(165.0)}}}
	for _, c := range []struct {
		changes, reties int
		end             *float64
	}{
		{3, 0, new(105.0)}, {3, 1, new(165.0)}, {3, 1, new(125.0)}, {5, 2, new(145.0)}, {5, 2, nil}, {0, 2, nil}, {2, 0, nil},
	} {
		said := amounts{n: map[string]int{keyFlyChange: c.changes, keyRetie: c.reties}, cutMM: new(20.0)}
		st := journal.Stint{Positions: []journal.StintPosition{{Position: 1, TagEndMM: c.end}},
			Events: merge(nil, nil, map[int]amounts{wholeRig: said}, map[int]tagNoted{wholeRig: {tied: new(165.0), end: c.end}}, journal.Fair)}
		tally, err := journal.TallyStint(rig, st)
		if err != nil {
			t.Errorf("%+v: %v", c, err)
			continue
		}
		if n := tally.Stint.Int(journal.CountFlyChanges); n != c.changes {
			t.Errorf("%+v: %d changes", c, n)
		}
		if n := tally.Stint.Int(journal.CountReties); n != c.reties {
			t.Errorf("%+v: %d re-ties", c, n)
		}
	}
}

// Every counter has a name of its own and an event of its own.
func TestCellsAreDistinct(t *testing.T) {
	t.Parallel()
	all := cells()
	for i, c := range all {
		if got := keyOf(all, c.event); got != c.key {
			t.Errorf("counter %d, %s: its event reads as %s", i, c.key, got)
		}
	}
}

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

// Every event that a session can hold has a drawing of its own.
func TestEveryEventHasAnIcon(t *testing.T) {
	t.Parallel()
	sprite, err := os.ReadFile("../static/icons.svg")
	if err != nil {
		t.Fatal(err)
	}
	drawings := map[string]string{}
	for _, m := range regexp.MustCompile(`(?s)<symbol id="([a-z-]+)"[^>]*>(.*?)</symbol>`).FindAllSubmatch(sprite, -1) {
		drawings[string(m[1])] = string(m[2])
	}
	seen := map[string]string{}
	for _, c := range cells() {
		name := eventIcon(c.event)
		drawing := drawings[name]
		if drawing == "" {
			t.Errorf("%s: there is no icon %q", c.label, name)
		}
		if other, ok := seen[drawing]; ok && other != name {
			t.Errorf("%s and %s look alike", name, other)
		}
		seen[drawing] = name
	}
	for event, want := range map[journal.EventKind]string{journal.EventSnag: "snag", journal.EventCheck: "check", journal.EventFlyChange: "fly-change", journal.EventRetie: "re-tie", journal.EventTangle: "tangle"} {
		if got := eventIcon(journal.Event{Kind: event}); got != want {
			t.Errorf("%s is drawn as %s", event, got)
		}
	}
}
