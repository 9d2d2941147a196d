package pg_test

import (
	"testing"

	"rigtally/journal"
	"rigtally/journal/journaltest"
)

// What was not counted is no zero: 15 hours without count of tangles leave a rate as it was, and are
// told; an outcome of something else goes on using them.
func TestNoCountIsNoZero(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(180.0), journaltest.Tangles(5), journaltest.Hookups(2, journal.Fair, journal.Landed)))
	before := ask(t, b, "tangles", by(t, "junction"))
	s := b.session(t, journaltest.May1, new(900.0), journaltest.Hookups(6, journal.Fair, journal.Landed))
	s.Stints[0].Recorded = journal.AllRecorded().Without(journal.KindTangles)
	b.store1(t, s)
	after := ask(t, b, "tangles", by(t, "junction"))
	if g, was := group(t, after, "blood", 0), group(t, before, "blood", 0); g.K != was.K || g.T != was.T || g.K != 5 || g.T != 3 {
		t.Errorf("tangles: %+v, before %+v", g, was)
	}
	if n := after.LeftOut["stints with no count kept of tangles"]; n != 1 {
		t.Errorf("left out: %v", after.LeftOut)
	}
	if a := ask(t, b, "landed"); a.Groups[0].K != 8 || a.Groups[0].T != 18 || len(a.LeftOut) != 0 || a.Assumed != 1 {
		t.Errorf("landed: %+v, left out %v, assumed %d", a.Groups[0], a.LeftOut, a.Assumed)
	}
}

// Every outcome needs a count kept of what is counted and of what it is counted against, each of
// which alone leaves the stint out.
func TestEveryOutcomeNeedsItsCounts(t *testing.T) {
	t.Parallel()
	want := map[string][]journal.Kind{
		"tangles": {journal.KindTangles}, "twists": {journal.KindTangles, journal.KindTangleKind}, "turns": {journal.KindTurns},
		"foul-hook": {journal.KindHookups, journal.KindHooking}, "loss": {journal.KindHookups, journal.KindLost}, "break-off": {journal.KindHookups, journal.KindBrokeOff},
		"junction-break": {journal.KindHookups, journal.KindSnags, journal.KindBreakPlace}, "hookups": {journal.KindHookups}, "landed": {journal.KindLanded},
		"downtime": {journal.KindMinutesLost},
	}
	for _, o := range journal.Outcomes() {
		b := newBench(t)
		happened := []journal.Event{journaltest.Hookups(2, journal.Fair, journal.Lost), {Kind: journal.EventTangle, Count: 1, MinutesLost: new(3)}, {Kind: journal.EventCheck, Count: 1, Turns: new(1)}}
		b.store1(t, b.session(t, journaltest.May1, new(60.0), happened...))
		for _, k := range journal.Kinds() {
			s := b.session(t, journaltest.May1, new(60.0), happened...)
			s.Stints[0].Recorded = journal.AllRecorded().Without(k)
			b.store1(t, s)
		}
		a := ask(t, b, o.Key)
		out := 0
		for _, k := range want[o.Key] {
			if n := a.LeftOut["stints with no count kept of "+k.Title()]; n != 1 {
				t.Errorf("%s: %d stints are left out for want of %s", o.Key, n, k)
			}
			out++
		}
		if a.Stints != 1+len(journal.Kinds())-out || len(a.LeftOut) != out {
			t.Errorf("%s: %d stints used, left out %v", o.Key, a.Stints, a.LeftOut)
		}
	}
}

// A detail that was not told removes no stint; the answer gives its number.
func TestDetailsNotToldAreCounted(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	untold := journaltest.Hookups(3, "", journal.Lost)
	b.store1(t, b.session(t, journaltest.May1, new(60.0), untold, journaltest.Hookups(1, journal.Foul, journal.Landed), journaltest.Hookups(2, journal.Fair, journal.Landed), journal.Event{Kind: journal.EventTangle, Count: 2},
		journal.Event{Kind: journal.EventSnag, Count: 2, Ending: journal.BrokeOff}))
	s := b.session(t, journaltest.May1, new(60.0), untold)
	s.Stints[0].Recorded = journal.AllRecorded().Without(journal.KindHooking)
	b.store1(t, s)
	for _, tt := range []struct {
		outcome        string
		untold, asFair int
		k, t           float64
	}{
		{"loss", 3, 1, 6, 8},      // 3 lost of the 5 not foul, and 3 of 3
		{"foul-hook", 3, 0, 1, 6}, // the second stint is left out
		{"twists", 2, 0, 0, 2},    //
		{"tangles", 0, 0, 2, 2},   // the kind is no detail that tangles go by
		{"hookups", 0, 0, 9, 2},   //
		{"junction-break", 2, 0, 0, 11},
	} {
		a := ask(t, b, tt.outcome)
		if a.Untold != tt.untold || a.AsFair != tt.asFair || a.Groups[0].K != tt.k || a.Groups[0].T != tt.t {
			t.Errorf("%s: %d not told, %d as fair, %g of %g", tt.outcome, a.Untold, a.AsFair, a.Groups[0].K, a.Groups[0].T)
		}
	}
}
