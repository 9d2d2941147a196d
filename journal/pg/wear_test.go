package pg_test

import (
	"context"
	"testing"

	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/journaltest"
)

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
