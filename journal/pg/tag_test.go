package pg_test

import (
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

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
