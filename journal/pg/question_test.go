package pg_test

import (
	"context"
	"math"
	"testing"
	"time"

	"rigtally/journal"
	"rigtally/journal/gauge"
	"rigtally/journal/journaltest"
)

func ask(t *testing.T, b bench, outcome string, by ...journal.By) journal.Answer {
	t.Helper()
	return askWhere(t, b, outcome, nil, by...)
}

func askWhere(t *testing.T, b bench, outcome string, where []journal.Condition, by ...journal.By) journal.Answer {
	t.Helper()
	o, err := journal.OutcomeByKey(outcome)
	if err != nil {
		t.Fatal(err)
	}
	a, err := b.store.Ask(context.Background(), journal.Question{Outcome: o, By: by, Where: where})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func by(t *testing.T, key string, edges ...float64) journal.By {
	t.Helper()
	return journal.By{Factor: factor(t, key), Edges: edges}
}

func factor(t *testing.T, key string) journal.Factor {
	t.Helper()
	f, err := journal.FactorByKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func group(t *testing.T, a journal.Answer, word string, number float64) journal.Sums {
	t.Helper()
	for _, g := range a.Groups {
		if g.Level[0].Word == word && g.Level[0].Number == number {
			return g
		}
	}
	t.Fatalf("no group %q %g in %+v", word, number, a.Groups)
	return journal.Sums{}
}

// Sums over two sessions, one of two stints, added up by hand.
func TestSumsAreOverSessions(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	s := b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(3))
	s.Stints = append(s.Stints, journal.Stint{ID: journaltest.NewID(t), RigID: b.rig.ID, Minutes: new(30.0), Events: []journal.Event{journaltest.Tangles(1)}})
	b.store1(t, s)
	b.store1(t, b.session(t, journaltest.May1, new(120.0), journaltest.Tangles(1)))
	g := group(t, ask(t, b, "tangles", by(t, "junction")), "blood", 0)
	// k = 4 and 1 in t = 1.5 and 2 hours.
	want := journal.Sums{Stints: 3, Sessions: 2, K: 5, T: 3.5, KK: 17, KT: 8, TT: 6.25, Hours: 3.5}
	g.Level = nil
	if g.Stints != want.Stints || g.Sessions != want.Sessions || g.K != want.K || g.T != want.T || g.KK != want.KK || g.KT != want.KT || g.TT != want.TT || g.Hours != want.Hours {
		t.Errorf("sums %+v, want %+v", g, want)
	}
}

func TestEveryOutcomeCountsAgainstItsOwn(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(90.0),
		on(1, journaltest.Hookups(4, journal.Fair, journal.Landed)), on(1, journaltest.Hookups(2, journal.Fair, journal.Lost)), on(1, journaltest.Hookups(1, journal.Foul, journal.Lost)),
		on(1, journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.BrokeOff, BreakPlace: journal.BrokeTag}),
		journal.Event{Kind: journal.EventSnag, Count: 5, Ending: journal.Freed},
		journal.Event{Kind: journal.EventSnag, Count: 1, Ending: journal.BrokeOff, BreakPlace: journal.BrokeJunction},
		journal.Event{Kind: journal.EventTangle, Count: 2, TangleKind: journal.Twist, MinutesLost: new(7)},
		journal.Event{Kind: journal.EventTangle, Count: 1, TangleKind: journal.Nest, MinutesLost: new(11)},
		journal.Event{Kind: journal.EventRetie, Count: 1, MinutesLost: new(3)},
		journal.Event{Kind: journal.EventCheck, Count: 4, Turns: new(6)}))
	for outcome, want := range map[string][2]float64{
		"tangles": {3, 1.5}, "twists": {2, 1.5}, "turns": {6, 4}, "foul-hook": {1, 8}, "loss": {2, 7}, "break-off": {1, 8},
		"junction-break": {2, 14}, "hookups": {8, 1.5}, "landed": {4, 1.5}, "downtime": {21, 1.5},
	} {
		for _, key := range []string{"junction", "angler"} {
			a := ask(t, b, outcome, by(t, key))
			if len(a.Groups) != 1 || a.Groups[0].K != want[0] || a.Groups[0].T != want[1] {
				t.Errorf("%s by %s: %+v, want %v", outcome, key, a.Groups, want)
			}
		}
	}
}

func TestEveryFactorHasItsLevel(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	fished := b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(1))
	fished.Start, fished.End = new(journaltest.May1.In(time.UTC).Add(11*time.Hour)), new(journaltest.May1.In(time.UTC).Add(12*time.Hour))
	b.link(t, invented)
	means := gauge.Series{Site: invented, Quantity: gauge.Flow, Statistic: gauge.DailyMean}
	for i := range 19 { // the flow of the session, 3.5 m³/s, lies between the fourth and the fifth
		means.Readings = append(means.Readings, gauge.Reading{At: time.Date(2025-i, time.May, 1, 0, 0, 0, 0, time.UTC), Value: float64(i)})
	}
	keep(t, b.store, found(means, every(invented, gauge.Temperature, journaltest.May1.In(time.UTC), 24, 60, func(i int) float64 { return float64(min(i, 13)) }),
		every(invented, gauge.Flow, journaltest.May1.In(time.UTC).Add(-24*time.Hour), 48, 60, func(i int) float64 { return []float64{8, 8, 3, 4}[i/12] })))
	b.store1(t, fished)
	for key, want := range map[string]any{
		"hang": "tag", "junction": "blood", "tag-length": 165.1, "facing": "down", "prop": "none", "tippet": 0.127, "bulk": "hackled", "hook-size": 18.0,
		"stroke": "oval", "method": "tight-line nymph", "angler": "Ilse", "water": "Alder Brook", "beat": "Alder Brook, Mill Run", "flow": 4.25,
		"temperature": 11.5, "month": 5.0, "season": 2026.0, "rig": "Blood 165",
		"temperature-peak": 13.0, "flow-percentile": 22.5, "trend-6h": "rising", "trend-24h": "falling",
	} {
		a := ask(t, b, "tangles", by(t, key))
		if len(a.Groups) != 1 {
			t.Errorf("by %s: %+v", key, a)
			continue
		}
		l := a.Groups[0].Level[0]
		if l.Word != want && l.Number != want {
			t.Errorf("by %s: level %+v, want %v", key, l, want)
		}
	}
	for key, missing := range map[string]string{"swivel": "stints with no swivel noted", "material": "flies with no material noted"} {
		if a := ask(t, b, "tangles", by(t, key)); len(a.Groups) != 0 || a.LeftOut[missing] != 1 {
			t.Errorf("by %s: %+v, want one left out", key, a)
		}
	}
	tested := 22 + 2
	if n := len(journal.Factors()); n != tested {
		t.Errorf("%d factors, %d of them tested here", n, tested)
	}
}

func TestTangledTagsGiveToEachLength(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	timed := journaltest.Tangles(1)
	timed.Minute = new(70)
	b.store1(t, b.session(t, journaltest.May1, new(80.0), cut(20, new(60)), timed))
	a := ask(t, b, "tangles", by(t, "tag-length"))
	if a.Stints != 1 {
		t.Errorf("%d stints in all, want the one that had two lengths", a.Stints)
	}
	long, short := group(t, a, "", 165.1), group(t, a, "", 145.1)
	if long.T != 1 || long.K != 0 || math.Abs(short.T-1./3) > 1e-12 || short.K != 1 {
		t.Errorf("165.1 mm: %+v; 145.1 mm: %+v; want 0 in 60 minutes and 1 in 20", long, short)
	}
	if g := ask(t, b, "tangles", by(t, "junction")).Groups[0]; g.T != 4./3 || g.K != 1 || g.Stints != 1 {
		t.Errorf("by junction the stint must count once: %+v", g)
	}
	banded := ask(t, b, "tangles", by(t, "tag-length", 0, 100, 150, 200))
	if g := group(t, banded, "", 100); g.K != 1 || g.Level[0].Upper != 150 || g.Level[0].Kind != journal.BandLevel {
		t.Errorf("100–150 mm: %+v", g)
	}
}

func TestWhatIsLeftOutIsSaid(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	two := b.save(t, twoDroppers())
	s := b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(2), journaltest.Hookups(3, journal.Fair, journal.Landed), on(2, journaltest.Tangles(1)))
	s.Stints[0].RigID = two.ID
	b.store1(t, s)
	b.store1(t, b.session(t, journaltest.May1, nil, journaltest.Tangles(4)))
	a := ask(t, b, "tangles", by(t, "junction"))
	if g := group(t, a, "figure-eight", 0); g.K != 1 || g.T != 1 {
		t.Errorf("figure-eight %+v", g)
	}
	if a.Unplaced != 2 || a.LeftOut["tangles on no dropper in particular"] != 2 || a.LeftOut["stints with no minutes noted"] != 1 {
		t.Errorf("left out %v (%d unplaced); want 2 tangles and 1 stint", a.LeftOut, a.Unplaced)
	}
	if a := ask(t, b, "foul-hook", by(t, "junction")); a.Unplaced != 3 {
		t.Errorf("%d hookups unplaced, want 3", a.Unplaced)
	}
	if g := ask(t, b, "tangles", by(t, "angler")).Groups[0]; g.K != 3 || g.T != 1 {
		t.Errorf("by angler the whole rig counts: %+v", g)
	}
}

func TestFilters(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	uni := journaltest.OneDropper("Uni 200")
	uni.Positions[1].Junction, uni.Positions[1].TagLengthMM = "uni", new(200.0)
	saved := b.save(t, uni)
	b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(1)))
	s := b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(10))
	s.Stints[0].RigID = saved.ID
	b.store1(t, s)
	word := func(key, w string) journal.Condition { return journal.Condition{Factor: factor(t, key), Word: w} }
	tag := factor(t, "tag-length")
	for _, tt := range []struct {
		name  string
		where []journal.Condition
		want  float64
	}{
		{"a word, without regard to case", []journal.Condition{word("junction", "BLOOD")}, 1},
		{"alternatives on one factor", []journal.Condition{word("junction", "blood"), word("junction", "uni")}, 11},
		{"two factors must both hold", []journal.Condition{word("junction", "uni"), word("angler", "nobody")}, 0},
		{"a range", []journal.Condition{{Factor: tag, Low: 165.1, High: 200}}, 11},
		{"a range that ends below", []journal.Condition{{Factor: tag, Low: 100, High: 200, Below: true}}, 1},
		{"an open range", []journal.Condition{{Factor: tag, Low: 170, High: math.Inf(1)}}, 10},
	} {
		var k float64
		for _, g := range askWhere(t, b, "tangles", tt.where, by(t, "water")).Groups {
			k += g.K
		}
		if k != tt.want {
			t.Errorf("%s: %g tangles, want %g", tt.name, k, tt.want)
		}
	}
}

// A question since a day leaves out the sessions before it, and counts those of the day itself.
func TestSinceADay(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	b.store1(t, b.session(t, journaltest.May1, new(60.0), journaltest.Tangles(3)))
	b.store1(t, b.session(t, journal.Date{Year: 2026, Month: 5, Day: 2}, new(30.0), journaltest.Tangles(1)))
	o, err := journal.OutcomeByKey("tangles")
	if err != nil {
		t.Fatal(err)
	}
	for day, want := range map[int]float64{1: 4, 2: 1, 3: 0} {
		for _, by := range [][]journal.By{nil, {by(t, "angler")}} {
			a, err := b.store.Ask(t.Context(), journal.Question{Outcome: o, By: by, Since: journal.Date{Year: 2026, Month: 5, Day: day}})
			if err != nil {
				t.Fatal(err)
			}
			events := 0.0
			for _, g := range a.Groups {
				events += g.K
			}
			if events != want {
				t.Errorf("since 2026-05-%02d: %g tangles, want %g", day, events, want)
			}
		}
	}
}
