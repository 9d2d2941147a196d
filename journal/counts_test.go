package journal_test

import (
	"math"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

func twoDroppers() journal.Rig {
	rig := journaltest.OneDropper("Two droppers")
	rig.Positions = append(rig.Positions, journal.RigPosition{Position: 2, Hang: journal.HangTag, Junction: "figure-eight", TagLengthMM: new(150.0)})
	return rig
}

func on(position int, e journal.Event) journal.Event {
	e.Position = &position
	return e
}

// Where events belong follows the journal's own rules (design of the model, no
// outside source): the expected numbers are counted by hand.
func TestEventsBelongToPositions(t *testing.T) {
	t.Parallel()
	snagBreak := journal.Event{Kind: journal.EventSnag, Count: 1, Ending: journal.BrokeOff, BreakPlace: journal.BrokeJunction}
	lost := journaltest.Hookups(1, journal.Fair, journal.Lost)
	foulLost := journaltest.Hookups(1, journal.Foul, journal.Lost)
	type want struct {
		position int // −1: the whole stint
		count    journal.Count
		n        int
	}
	for _, tt := range []struct {
		name   string
		rig    journal.Rig
		events []journal.Event
		want   []want
	}{
		{"a tangle on no fly is the only dropper's", journaltest.OneDropper("r"), []journal.Event{journaltest.Tangles(3)},
			[]want{{1, journal.CountTangles, 3}, {1, journal.CountTwists, 3}, {0, journal.CountTangles, 0}, {-1, journal.CountTangles, 3}}},
		{"with two droppers it is the rig's alone", twoDroppers(), []journal.Event{journaltest.Tangles(3)},
			[]want{{1, journal.CountTangles, 0}, {2, journal.CountTangles, 0}, {-1, journal.CountTangles, 3}}},
		{"a hookup on no fly is on no position", journaltest.OneDropper("r"), []journal.Event{lost},
			[]want{{0, journal.CountHookups, 0}, {1, journal.CountHookups, 0}, {-1, journal.CountHookups, 1}, {-1, journal.CountFairLost, 1}}},
		{"but it loads the only junction", journaltest.OneDropper("r"), []journal.Event{lost, snagBreak},
			[]want{{1, journal.CountLoads, 2}, {-1, journal.CountLoads, 2}, {1, journal.CountBrokeJunction, 1}}},
		{"a fish loads the junctions at and above it", twoDroppers(), []journal.Event{on(1, lost), on(0, lost), on(2, lost)},
			[]want{{0, journal.CountLoads, 0}, {1, journal.CountLoads, 2}, {2, journal.CountLoads, 3}}},
		{"a foul fish lost is no fair fish lost", journaltest.OneDropper("r"), []journal.Event{on(1, foulLost), on(1, lost)},
			[]want{{1, journal.CountFoul, 1}, {1, journal.CountLost, 2}, {1, journal.CountFairLost, 1}, {1, journal.CountHookups, 2}}},
		{"a fish on the point may break the only junction", journaltest.OneDropper("r"),
			[]journal.Event{on(0, journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.BrokeOff, BreakPlace: journal.BrokeTag})},
			[]want{{0, journal.CountBrokeOff, 1}, {0, journal.CountBrokeTag, 0}, {1, journal.CountBrokeTag, 1}, {1, journal.CountHookups, 0}}},
		{"a check keeps its turns, a tangle its minutes", journaltest.OneDropper("r"),
			[]journal.Event{{Kind: journal.EventCheck, Count: 2, Turns: new(7)}, {Kind: journal.EventTangle, Count: 1, MinutesLost: new(6)}, journaltest.Tangles(1)},
			[]want{{1, journal.CountChecks, 2}, {1, journal.CountTurns, 7}, {1, journal.CountMinutesLost, 6}, {1, journal.CountUntimed, 1}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			tally, err := journal.TallyStint(tt.rig, journal.Stint{Minutes: new(60.0), Events: tt.events})
			if err != nil {
				t.Fatal(err)
			}
			for _, w := range tt.want {
				counts := tally.Stint
				if w.position >= 0 {
					counts = tally.Positions[w.position]
				}
				if got := counts.Int(w.count); got != w.n {
					t.Errorf("position %d: %s = %d, want %d", w.position, w.count.Column(), got, w.n)
				}
			}
		})
	}
}

func cut(mm float64, minute *int) journal.Event {
	return journal.Event{Kind: journal.EventFlyChange, Count: 1, CutMM: &mm, Minute: minute}
}

// With two droppers, a re-tie of no one knows which leaves no length known.
func TestARetieOfAnyDropperLeavesNoSpells(t *testing.T) {
	t.Parallel()
	retie := journal.Event{Kind: journal.EventRetie, Count: 1}
	st := journal.Stint{Minutes: new(60.0), Positions: []journal.StintPosition{{Position: 1, TagStartMM: new(120.0), TagEndMM: new(160.0)}},
		Events: []journal.Event{on(1, journal.Event{Kind: journal.EventFlyChange, Count: 1}), retie}}
	tally, err := journal.TallyStint(twoDroppers(), st)
	if err != nil || len(tally.Spells) != 0 {
		t.Errorf("%+v, %v; want no spells", tally.Spells, err)
	}
	if _, err := journal.TallyStint(journaltest.OneDropper("r"), st); err != nil {
		t.Errorf("on one dropper the re-tie explains the longer tag: %v", err)
	}
}

func TestTagSpells(t *testing.T) {
	t.Parallel()
	tangle := journaltest.Tangles(1)
	at := func(e journal.Event, minute int) journal.Event { e.Minute = &minute; return e }
	unknownCut := journal.Event{Kind: journal.EventFlyChange, Count: 2}
	type spell struct{ mm, share, tangles float64 }
	for _, tt := range []struct {
		name   string
		stint  journal.Stint
		want   []spell
		errors bool
	}{
		{"no change, no spells", journal.Stint{Minutes: new(60.0), Events: []journal.Event{tangle}}, nil, false},
		{"time goes by the minute", journal.Stint{Minutes: new(60.0), Events: []journal.Event{cut(20, new(45)), at(tangle, 50), at(tangle, 10)}},
			[]spell{{165.1, 0.75, 1}, {145.1, 0.25, 1}}, false},
		{"evenly when no minute is known", journal.Stint{Minutes: new(60.0), Events: []journal.Event{cut(20, nil), cut(15, nil), journaltest.Tangles(3)}},
			[]spell{{165.1, 1. / 3, 1}, {145.1, 1. / 3, 1}, {130.1, 1. / 3, 1}}, false},
		{"an untimed tangle is shared like the time", journal.Stint{Minutes: new(60.0), Events: []journal.Event{cut(20, new(45)), tangle}},
			[]spell{{165.1, 0.75, 0.75}, {145.1, 0.25, 0.25}}, false},
		{"a re-tie brings the tag back to its length as tied", journal.Stint{Minutes: new(60.0), Positions: []journal.StintPosition{{Position: 1, TagStartMM: new(120.0)}},
			Events: []journal.Event{{Kind: journal.EventRetie, Count: 1, Minute: new(30)}}}, []spell{{120, 0.5, 0}, {165.1, 0.5, 0}}, false},
		{"cuts not noted are equal when the end is known", journal.Stint{Minutes: new(60.0), Positions: []journal.StintPosition{{Position: 1, TagEndMM: new(125.1)}},
			Events: []journal.Event{unknownCut}}, []spell{{165.1, 1. / 3, 0}, {145.1, 1. / 3, 0}, {125.1, 1. / 3, 0}}, false},
		{"and say nothing when it is not", journal.Stint{Minutes: new(60.0), Events: []journal.Event{unknownCut}}, nil, false},
		{"a change that cost no tag leaves it as long as it was", journal.Stint{Minutes: new(60.0), Events: []journal.Event{cut(0, new(20)), cut(20, new(45)), at(tangle, 30)}},
			[]spell{{165.1, 0.75, 1}, {145.1, 0.25, 0}}, false},
		{"and is none of the cuts that were not noted", journal.Stint{Minutes: new(60.0), Positions: []journal.StintPosition{{Position: 1, TagEndMM: new(125.1)}},
			Events: []journal.Event{unknownCut, cut(0, nil)}}, []spell{{165.1, 1. / 3, 0}, {145.1, 1. / 3, 0}, {125.1, 1. / 3, 0}}, false},
		{"more cut than there was", journal.Stint{Minutes: new(60.0), Events: []journal.Event{cut(170, nil)}}, nil, true},
		{"cuts and the end disagree", journal.Stint{Minutes: new(60.0), Positions: []journal.StintPosition{{Position: 1, TagEndMM: new(100.0)}}, Events: []journal.Event{cut(20, nil)}}, nil, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			tally, err := journal.TallyStint(journaltest.OneDropper("r"), tt.stint)
			if (err != nil) != tt.errors {
				t.Fatalf("error %v, want one: %v", err, tt.errors)
			}
			if len(tally.Spells) != len(tt.want) {
				t.Fatalf("%d spells, want %d: %+v", len(tally.Spells), len(tt.want), tally.Spells)
			}
			const tol = 1e-12
			for i, w := range tt.want {
				got := tally.Spells[i]
				if math.Abs(got.TagMM-w.mm) > tol || math.Abs(got.Share-w.share) > tol || math.Abs(got.Counts[journal.CountTangles]-w.tangles) > tol {
					t.Errorf("spell %d: %g mm for %g of the time with %g tangles, want %+v", i, got.TagMM, got.Share, got.Counts[journal.CountTangles], w)
				}
			}
		})
	}
}

// Ensure that a unit says how long after the last event of its outcome its last
// stint ended, and that a minute that was not noted leaves it untold.
func TestTrialCountsTellWhenStintsEnd(t *testing.T) {
	t.Parallel()
	rig := journal.Rig{ID: journal.NewID(), Name: "Up", Positions: []journal.RigPosition{{Position: 0}}}
	tangle := func(minute *int) journal.Event {
		return journal.Event{Kind: journal.EventTangle, Count: 1, Minute: minute}
	}
	for name, tt := range map[string]struct {
		minutes *float64
		events  []journal.Event
		after   *float64
		untold  bool
	}{
		"two":           {new(60.0), []journal.Event{tangle(new(50)), tangle(new(10)), {Kind: journal.EventSnag, Count: 1, Minute: new(58)}}, new(10.0), false},
		"none":          {new(60.0), []journal.Event{{Kind: journal.EventSnag, Count: 1}}, nil, false},
		"no minute":     {new(60.0), []journal.Event{tangle(new(50)), tangle(nil)}, nil, true},
		"no end":        {nil, []journal.Event{tangle(new(50))}, nil, true},
		"after the end": {new(49.5), []journal.Event{tangle(new(50))}, new(0.0), false},
	} {
		st := journal.Stint{ID: journal.NewID(), RigID: rig.ID, Minutes: tt.minutes, Events: tt.events}
		s := journal.Session{ID: journal.NewID(), Day: journal.Date{Year: 2026, Month: time.May, Day: 1}, Stints: []journal.Stint{st}}
		other := journal.NewID()
		trial := journal.Trial{Outcome: "tangles", Factor: "rig", Arms: [2]journal.TrialArm{{RigID: &rig.ID}, {RigID: &other}}, Unit: journal.ByStint, Block: 4,
			Units: []journal.TrialUnit{{Ordinal: 1, Arm: journal.ArmA, SessionID: &s.ID, StintID: &st.ID, Status: journal.UnitKept}}}
		counts, err := trial.CountUnits(map[journal.ID]journal.Session{s.ID: s}, map[journal.ID]journal.Rig{rig.ID: rig, other: {ID: other, Name: "Down"}})
		if err != nil {
			t.Fatal(err)
		}
		c := counts[0]
		if (c.After == nil) != (tt.after == nil) || c.After != nil && *c.After != *tt.after || c.Untold != tt.untold {
			t.Errorf("%s: %v, untold %v", name, c.After, c.Untold)
		}
	}
}
