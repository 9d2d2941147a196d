package pg_test

import (
	"context"
	"math"
	"testing"

	"rigtally/journal"
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
