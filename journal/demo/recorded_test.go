package demo

import (
	"reflect"
	"slices"
	"testing"

	"rigtally/journal"
)

// What was not counted is left out and said, except in the novice's stints from before anybody
// was asked; every other stint holds what it would hold if all had been counted.
func TestWhatWasNotCountedIsLeftOut(t *testing.T) {
	t.Parallel()
	m := newMaker(Seed)
	all := map[journal.ID]journal.Stint{}
	for i := range Sessions {
		for _, st := range m.session(i, Sessions).Stints {
			all[st.ID] = st
		}
	}
	novices := m.anglers[3].ID
	found := map[string]int{}
	for _, s := range Generate(Seed, Sessions).Sessions {
		for _, st := range s.Stints {
			full := all[st.ID]
			for _, e := range st.Events {
				if !st.Recorded.Has(kindOf(e)) {
					t.Errorf("%s: a %s of which no count was kept", s.Day, e.Kind)
				}
			}
			if st.Recorded.Assumed() != (s.Day.Year < askedFrom) && st.Recorded.Has(journal.KindTangles) {
				t.Errorf("%s: recorded %b", s.Day, st.Recorded)
			}
			snags := slices.ContainsFunc(full.Events, func(e journal.Event) bool { return e.Kind == journal.EventSnag })
			switch missing := st.Recorded.Missing(); {
			case len(missing) > 10:
				found["hookups only"]++
			case len(missing) > 0 && missing[0] == journal.KindTangles:
				found["no tangles"]++
			case len(missing) == 1 && missing[0] == journal.KindSnags:
				found["no snags"]++
			case len(missing) > 0:
				t.Errorf("%s: no count of %v", s.Day, missing)
			case s.AnglerID == novices && snags:
				found["wrongly assumed"]++
			default:
				full.Recorded = st.Recorded
				if len(full.Events) == 0 {
					full.Events = nil
				}
				if !reflect.DeepEqual(st, full) {
					t.Errorf("%s: everything was counted, yet\n%+v\nis not\n%+v", s.Day, st, full)
				}
			}
		}
	}
	t.Log(found)
	for _, what := range []string{"hookups only", "no tangles", "no snags", "wrongly assumed"} {
		if found[what] < 5 {
			t.Errorf("%s: %d stints", what, found[what])
		}
	}
}
