package pg_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/journaltest"
)

func retie(minute *int) journal.Event {
	return journal.Event{Kind: journal.EventRetie, Count: 1, Minute: minute}
}

func tangle(minute *int) journal.Event { return many(1, minute) }

func many(n int, minute *int) journal.Event {
	e := journaltest.Tangles(n)
	e.Minute = minute
	return e
}

// What the stretches must be is worked out by hand beside each session.
func TestStretches(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	other := journaltest.OneDropper("Uni 120")
	other.Positions[1].Junction, other.Positions[1].TagLengthMM, other.Swivel = "uni", new(120.0), "none"
	uni := b.save(t, other)
	bare := journaltest.OneDropper("Bare")
	bare.Positions[1].Junction, bare.Positions[1].TagLengthMM, bare.Swivel = "", nil, "micro swivel"
	untold := b.save(t, bare)
	stint := func(rig journal.Rig, minutes *float64, events ...journal.Event) journal.Stint {
		return journal.Stint{ID: journaltest.NewID(t), RigID: rig.ID, Minutes: minutes, Stroke: "oval", Events: events}
	}
	stroke := func(st journal.Stint, s journal.Stroke) journal.Stint { st.Stroke = s; return st }
	from := func(st journal.Stint, mm float64) journal.Stint {
		st.Positions = []journal.StintPosition{{Position: 1, TagStartMM: &mm}}
		return st
	}
	uncounted := func(st journal.Stint) journal.Stint {
		st.Recorded = journal.AllRecorded().Without(journal.KindTangles)
		return st
	}
	type stretch struct { // as facts.Stretch has it
		minutes float64
		counted bool
		events  float64
		at      []float64
		timed   bool
		end     facts.End
	}
	over, kept, changed, unknown := facts.SessionOver, facts.LevelKept, facts.LevelChanged, facts.LevelUntold
	for name, c := range map[string]struct {
		factor string
		stints []journal.Stint
		want   []stretch
	}{
		"another junction after a tangle at the end": {"junction",
			[]journal.Stint{stint(b.rig, new(60.0), tangle(new(59)), tangle(new(20))), stint(uni, new(30.5)), stint(uni, new(20.0), tangle(nil))},
			[]stretch{{60, true, 2, []float64{20, 59}, true, changed}, {30.5, true, 0, nil, true, kept}, {20, true, 1, nil, false, over}}},
		"a junction not noted": {"junction",
			[]journal.Stint{stint(b.rig, new(60.0)), stint(untold, nil), stint(untold, new(20.0))},
			[]stretch{{60, true, 0, nil, true, unknown}, {math.NaN(), true, 0, nil, false, unknown}, {20, true, 0, nil, true, over}}},
		"no count of tangles": {"junction",
			[]journal.Stint{uncounted(stint(b.rig, new(60.0))), stint(uni, new(20.0))},
			[]stretch{{60, false, 0, nil, true, changed}, {20, true, 0, nil, true, over}}},
		"another swivel": {"swivel",
			[]journal.Stint{stint(uni, new(60.0)), stint(untold, new(20.0)), stint(untold, new(10.0))},
			[]stretch{{60, true, 0, nil, true, changed}, {20, true, 0, nil, true, kept}, {10, true, 0, nil, true, over}}},
		"another stroke": {"stroke",
			[]journal.Stint{stint(b.rig, new(60.0)), stroke(stint(b.rig, new(20.0)), "lob"), stroke(stint(b.rig, new(10.0)), "")},
			[]stretch{{60, true, 0, nil, true, changed}, {20, true, 0, nil, true, unknown}, {10, true, 0, nil, true, over}}},
		"a tag of another rig, and one as long as it was left": {"tag-length",
			[]journal.Stint{stint(b.rig, new(60.0)), stint(uni, new(20.0)), from(stint(b.rig, new(10.0)), 121)},
			[]stretch{{60, true, 0, nil, true, changed}, {20, true, 0, nil, true, kept}, {10, true, 0, nil, true, over}}},
		"a tag cut at minute 15 of 60, at once after a tangle, and by 2 mm, which nobody sees": {"tag-length",
			[]journal.Stint{stint(b.rig, new(60.0), tangle(new(15)), cut(25, new(15)), tangle(new(40)), cut(2, new(50))), from(stint(b.rig, new(10.0)), 138)},
			[]stretch{{15, true, 1, []float64{15}, true, changed}, {45, true, 1, []float64{25}, true, kept}, {10, true, 0, nil, true, over}}},
		"a tag cut three times, and the moment of one is noted: quarters": {"tag-length",
			[]journal.Stint{stint(b.rig, new(60.0), tangle(new(15)), cut(25, new(10)), cut(25, nil), cut(25, nil))},
			[]stretch{{15, true, 0.25, nil, false, changed}, {15, true, 0.25, nil, false, changed}, {15, true, 0.25, nil, false, changed}, {15, true, 0.25, nil, false, over}}},
		"tangles in the minutes of two cuts belong to the lengths that were cut": {"tag-length",
			[]journal.Stint{stint(b.rig, new(77.0), tangle(new(13)), cut(25, new(13)), tangle(new(29)), cut(25, new(29)), tangle(new(30)))},
			[]stretch{{13, true, 1, []float64{13}, true, changed}, {16, true, 1, []float64{16}, true, changed}, {48, true, 1, []float64{1}, true, over}}},
		"80 tangles in a minute": {"junction",
			[]journal.Stint{stint(b.rig, new(60.0)), stint(b.rig, new(60.0), many(80, new(15)), tangle(new(9)))},
			[]stretch{{60, true, 0, nil, true, kept}, {60, true, 81, []float64{9, 15, 15}, true, over}}},
		"a tag cut at a moment not noted: halves": {"tag-length",
			[]journal.Stint{stint(b.rig, new(60.0), tangle(new(15)), cut(25, nil))},
			[]stretch{{30, true, 0.5, nil, false, changed}, {30, true, 0.5, nil, false, over}}},
		"a re-tie that may have been the change": {"tag-length",
			[]journal.Stint{stint(untold, new(60.0), retie(new(30))), stint(b.rig, new(60.0), retie(nil)), from(stint(b.rig, new(60.0)), 150)},
			[]stretch{{60, true, 0, nil, true, unknown}, {60, true, 0, nil, true, changed}, {60, true, 0, nil, true, over}}},
	} {
		s := b.session(t, journaltest.May1, nil)
		s.Stints = c.stints
		s = b.store1(t, s)
		var got []facts.Stretch
		if err := b.store.Stretches(t.Context(), outcome(t, "tangles"), factor(t, c.factor), func(list []facts.Stretch) { got = append(got, list...) }); err != nil {
			t.Fatal(err)
		}
		for i, g := range got { // what is a whole minute, but for shares of time
			got[i].Minutes = math.Round(1e6*g.Minutes) / 1e6
			for k, at := range g.At {
				got[i].At[k] = math.Round(1e6*at) / 1e6
			}
		}
		if a, b := fmt.Sprint(got), fmt.Sprint(c.want); a != b {
			t.Errorf("%s: %s, not %s", name, a, b)
		}
		if err := b.store.DeleteSession(t.Context(), s.ID, s.Version); err != nil {
			t.Fatal(err)
		}
	}
}

// stretches are those of a factor in some facts, in words, in no order of sessions.
func stretches(f *facts.Facts, o journal.Outcome, by journal.Factor) []string {
	var list []string
	f.Stretches(o, by, func(s []facts.Stretch) { list = append(list, fmt.Sprint(s)) })
	slices.Sort(list)
	return list
}
