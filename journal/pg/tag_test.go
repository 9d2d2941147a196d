package pg_test

import (
	"context"
	"math"
	"testing"

	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/journaltest"
)

// What the lives of ties must be is worked out by hand beside each stint.
func TestTieLives(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	two := b.save(t, journal.Rig{Name: "Two tags", Positions: []journal.RigPosition{{Position: 0},
		{Position: 1, Hang: journal.HangTag, Junction: "uni", TagLengthMM: new(150.0)}, {Position: 2, Hang: journal.HangTag, Junction: "uni", TagLengthMM: new(150.0)}}})
	snag := func(minute *int, place journal.BreakPlace, position *int) journal.Event {
		e := journal.Event{Kind: journal.EventSnag, Count: 1, Ending: journal.Freed, Minute: minute, Position: position}
		if place != "" {
			e.Ending, e.BreakPlace = journal.BrokeOff, place
		}
		return e
	}
	retie := func(minute *int, position *int) journal.Event {
		return journal.Event{Kind: journal.EventRetie, Count: 1, Minute: minute, Position: position}
	}
	stint := func(rig journal.Rig, minutes *float64, events ...journal.Event) journal.Stint {
		return journal.Stint{ID: journaltest.NewID(t), RigID: rig.ID, Minutes: minutes, Events: events}
	}
	uncounted := func(st journal.Stint, k journal.Kind) journal.Stint {
		st.Recorded = journal.AllRecorded().Without(k)
		return st
	}
	type life struct {
		hours, loads float64
		broke, seen  bool
	}
	for name, c := range map[string]struct {
		stints []journal.Stint
		want   []life
		left   int
	}{
		"a break at 30 min, mended at 36, and the day's end": {[]journal.Stint{stint(b.rig, new(90.0), snag(new(10), "", nil), snag(new(30), journal.BrokeJunction, nil), retie(new(36), nil), snag(new(40), "", nil))},
			[]life{{0.5, 2, true, true}, {0.9, 1, false, false}}, 0},
		"the same rig goes on, another ends it": {[]journal.Stint{stint(b.rig, new(60.0), snag(nil, "", nil)), stint(b.rig, new(30.0), snag(nil, journal.BrokeTag, nil)), stint(two, new(60.0)), stint(b.rig, new(45.0))},
			[]life{{1.25, 2, true, true}, {0.25, 0, false, false}, {1, 0, false, false}, {1, 0, false, false}, {0.75, 0, false, false}}, 0},
		"moments not noted: a re-tie and a break spread over 90 min": {[]journal.Stint{stint(b.rig, new(90.0), retie(nil, nil), snag(nil, "", nil), snag(nil, journal.BrokeJunction, nil))},
			[]life{{0.5, 1.0 / 3, false, false}, {0.5, 1 + 1.0/3, true, true}, {0.5, 1.0 / 3, false, false}}, 0},
		"no minutes: only loads are known": {[]journal.Stint{stint(b.rig, new(60.0)), stint(b.rig, nil, snag(nil, journal.BrokeJunction, nil))},
			[]life{{1, 1, true, false}}, 1},
		"two tags, and which was re-tied is not known": {[]journal.Stint{stint(two, new(60.0)), stint(two, new(60.0), retie(nil, nil)), stint(two, new(60.0))},
			[]life{{1, 0, false, false}, {1, 0, false, false}}, 2},
		"no count of snags in the second stint: the life is known up to it": {[]journal.Stint{stint(b.rig, new(60.0)), uncounted(stint(b.rig, new(60.0)), journal.KindSnags), stint(b.rig, new(60.0))},
			[]life{{1, 0, false, false}}, 1},
		"no count of tangles, which end no life": {[]journal.Stint{stint(b.rig, new(60.0)), uncounted(stint(b.rig, new(60.0)), journal.KindTangles)},
			[]life{{2, 0, false, false}}, 0},
		"two tags: what pulls on the lower one pulls on the upper too": {[]journal.Stint{stint(two, new(60.0), snag(new(20), journal.BrokeJunction, new(1)), snag(new(50), "", new(2)))},
			[]life{{1.0 / 3, 1, true, true}, {2.0 / 3, 0, false, false}, {1, 2, false, false}}, 0},
	} {
		s := b.session(t, journaltest.May1, nil)
		s.Stints = c.stints
		s = b.store1(t, s)
		junction, _ := journal.FactorByKey("junction")
		got, err := b.store.TieLives(ctx, journal.By{Factor: junction}, nil)
		if err != nil || len(got.Lives) != len(c.want) {
			t.Errorf("%s: %+v (%v)", name, got, err)
			continue
		}
		for i, l := range got.Lives {
			w := c.want[i]
			if math.Abs(l.Hours-w.hours) > 1e-9 || math.Abs(l.Loads-w.loads) > 1e-9 || l.Broke != w.broke || l.Seen != w.seen {
				t.Errorf("%s: life %d is %+v, want %+v", name, i, l, w)
			}
		}
		left := 0
		for _, n := range got.LeftOut {
			left += n
		}
		if left != c.left {
			t.Errorf("%s: left out %v", name, got.LeftOut)
		}
		if err := b.store.DeleteSession(ctx, s.ID, 0); err != nil {
			t.Fatal(err)
		}
	}
}

// cutAt is a fly change that cost some tag.
func cutAt(mm float64, minute int) journal.Event {
	return journal.Event{Kind: journal.EventFlyChange, Count: 1, Position: new(1), CutMM: &mm, Minute: &minute}
}

func TestTheLastKnownTagLength(t *testing.T) {
	t.Parallel()
	for name, tt := range map[string]struct {
		events []journal.Event
		start  *float64
		end    *float64
		want   float64 // 0: not known
	}{
		"nothing done":           {want: 165.1},
		"begun shorter":          {start: new(140.0), want: 140},
		"cut twice":              {events: []journal.Event{cutAt(10, 20), cutAt(15.1, 40)}, want: 140},
		"noted at the end":       {events: []journal.Event{{Kind: journal.EventFlyChange, Count: 1, Position: new(1)}}, end: new(150.0), want: 150},
		"cut, how much unknown":  {events: []journal.Event{{Kind: journal.EventFlyChange, Count: 1, Position: new(1)}}},
		"cut and tied again":     {events: []journal.Event{cutAt(30, 10), {Kind: journal.EventRetie, Count: 1, Position: new(1), Minute: new(20)}}, want: 165.1},
		"changed, no tag lost":   {events: []journal.Event{cutAt(10, 20), cutAt(0, 40)}, want: 155.1},
		"cut on the point alone": {events: []journal.Event{{Kind: journal.EventFlyChange, Count: 1, Position: new(0)}}, want: 165.1},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := newBench(t)
			b.store1(t, b.session(t, journaltest.May1, new(60.0), cutAt(60, 30))) // an older stint
			s := b.session(t, journal.Date{Year: 2026, Month: 5, Day: 9}, new(60.0), tt.events...)
			if tt.start != nil || tt.end != nil {
				s.Stints[0].Positions = []journal.StintPosition{{Position: 1, TagStartMM: tt.start, TagEndMM: tt.end}}
			}
			b.store1(t, s)
			list, err := b.store.LastTags(t.Context(), b.rig)
			if err != nil {
				t.Fatal(err)
			}
			switch {
			case tt.want == 0 && len(list) > 0:
				t.Errorf("got %+v for a length that nobody knows", list)
			case tt.want != 0 && (len(list) != 1 || list[0].LengthMM != tt.want || list[0].Position != 1 || list[0].Day != s.Day):
				t.Errorf("got %+v, want %g mm", list, tt.want)
			}
		})
	}
}

func TestCutsAreCounted(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	twice := cutAt(12.7, 20)
	twice.Count = 2
	b.store1(t, b.session(t, journaltest.May1, new(60.0), cutAt(20, 10), twice, cutAt(0, 50)))
	list, err := b.store.TagCuts(t.Context())
	if err != nil || len(list) != 2 || list[0] != (journal.Written{Value: 12.7, Times: 2}) || list[1] != (journal.Written{Value: 20, Times: 1}) {
		t.Errorf("got %+v, %v", list, err)
	}
	none, err := journaltest.Store(t).TagCuts(t.Context())
	if err != nil || len(none) != 0 {
		t.Errorf("an empty journal: %+v, %v", none, err)
	}
	fresh := b.save(t, journaltest.OneDropper("Never fished"))
	if tags, err := b.store.LastTags(t.Context(), fresh); err != nil || len(tags) != 0 {
		t.Errorf("a rig never fished: %+v, %v", tags, err)
	}
}

// Ensure that what tags cost is added up by session, over droppers on a tag alone, and
// that an event on no fly in particular counts only where it can be but one.
func TestTagSessions(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	ctx := context.Background()
	two := b.save(t, journal.Rig{Name: "Two tags", Positions: []journal.RigPosition{{Position: 0},
		{Position: 1, Hang: journal.HangTag, Junction: "blood", TagLengthMM: new(150.0)}, {Position: 2, Hang: journal.HangTag, Junction: "uni", TagLengthMM: new(150.0)}}})
	inLine := b.save(t, journal.Rig{Name: "In line", Positions: []journal.RigPosition{{Position: 0}, {Position: 1, Hang: journal.HangEye}}})
	first := b.session(t, journaltest.May1, new(90.0),
		journal.Event{Kind: journal.EventFlyChange, Count: 2, CutMM: new(12.0)},
		journal.Event{Kind: journal.EventFlyChange, Count: 1, Position: new(0)},
		journal.Event{Kind: journal.EventTangle, Count: 2, MinutesLost: new(7)},
		journal.Event{Kind: journal.EventTangle, Count: 3},
		journal.Event{Kind: journal.EventRetie, Count: 1, MinutesLost: new(6)},
		journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.BrokeOff, BreakPlace: journal.BrokeJunction, Position: new(1)})
	first.Stints = append(first.Stints,
		journal.Stint{ID: journaltest.NewID(t), RigID: two.ID, Minutes: new(60.0), Events: []journal.Event{
			{Kind: journal.EventTangle, Count: 1, MinutesLost: new(100)}, {Kind: journal.EventTangle, Count: 1, MinutesLost: new(4), Position: new(2)}}},
		journal.Stint{ID: journaltest.NewID(t), RigID: inLine.ID, Minutes: new(60.0), Events: []journal.Event{{Kind: journal.EventTangle, Count: 1, MinutesLost: new(50)}}},
		journal.Stint{ID: journaltest.NewID(t), RigID: b.rig.ID, Events: []journal.Event{{Kind: journal.EventFlyChange, Count: 1, CutMM: new(9.0)}}})
	b.store1(t, first)
	b.store1(t, b.session(t, journaltest.May1, new(30.0), journaltest.Tangles(1)))
	list, err := b.store.TagSessions(ctx, nil)
	if err != nil || len(list) != 2 {
		t.Fatalf("%+v (%v)", list, err)
	}
	got := list[0]
	got.Session = journal.ID{}
	// 1.5 h on one tag and 1 h on each of two.
	want := facts.TagSession{Hours: 3.5, Changes: 2, Reties: 1, Breaks: 1, Loads: 1, Tangles: 3, TangleMinutes: 11, Tied: 1, TiedMinutes: 6, Cuts: 3, CutMM: 33}
	if got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got := list[1]; got.Hours != 0.5 || got.Tangles != 0 || got.Cuts != 0 {
		t.Errorf("the second session: %+v", got)
	}
	junction, _ := journal.FactorByKey("junction")
	length, _ := journal.FactorByKey("tag-length")
	uni, err := b.store.TagSessions(ctx, []journal.Condition{{Factor: junction, Word: "UNI"}, {Factor: length, Low: 1, High: 2}})
	if err != nil || len(uni) != 1 || uni[0].Hours != 1 || uni[0].TangleMinutes != 4 {
		t.Errorf("uni junctions alone: %+v (%v)", uni, err)
	}
}
