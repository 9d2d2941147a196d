package life_test

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"rigtally/analytics/fixture"
	"rigtally/analytics/life"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

func followed(t *testing.T, s *pg.Store, r life.Request) life.Answer {
	t.Helper()
	r.Units = units.Metric
	a, err := life.Follow(context.Background(), s, r)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// The leukaemia trial (Freireich and others 1963; Gehan 1965), its weeks fished as hours: what
// the journal makes of it is what is printed of the trial (MASS ?gehan; 16.79 recalled
// from Kleinbaum & Klein). A remission that ended is a snag that broke the junction at
// the end of its stint.
func TestLivesThroughTheJournalAreAsPrinted(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	weeks := func(list ...int) (minutes []int) {
		for _, w := range list {
			minutes = append(minutes, 60*w)
		}
		return minutes
	}
	broke := func(censored string, minutes []int) func(int) []journal.Event {
		return func(i int) []journal.Event {
			if censored[i] == '+' {
				return nil
			}
			return []journal.Event{{Kind: journal.EventSnag, Count: 1, Ending: journal.BrokeOff, BreakPlace: journal.BrokeJunction, Minute: new(minutes[i])}}
		}
	}
	drug, placebo := weeks(6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23), weeks(1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)
	fixture.Fish(t, s, fixture.Outings{Junction: "blood", Minutes: drug, Events: broke("xxx+x+x++xx+++xx", drug)}, fixture.Outings{Junction: "uni", Minutes: placebo, Events: broke(strings.Repeat("x", 21), placebo)},
		// Beyond a day of 24 h nothing can be noted: the five longest were all censored, so that
		// their last weeks change neither the steps nor the test.
		fixture.Outings{Junction: "blood", Minutes: weeks(24, 24, 24, 24, 24), Events: broke("+++++", nil)})
	a := followed(t, s, life.Request{})
	if len(a.Groups) != 2 || a.Groups[0].Level.Word != "blood" || a.Groups[0].Ties != 21 || a.Groups[0].Breaks != 9 || a.Groups[1].Breaks != 21 || a.Sessions != 42 {
		t.Fatalf("%+v", a.Groups)
	}
	printed := [][4]float64{{6, 0.857, 0.620, 0.952}, {7, 0.807, 0.563, 0.923}, {10, 0.753, 0.503, 0.889}, {13, 0.690, 0.432, 0.849}, {16, 0.627, 0.368, 0.805}, {22, 0.538, 0.268, 0.747}, {23, 0.448, 0.188, 0.680}}
	for i, p := range a.Groups[0].Survival.Steps {
		for j, got := range []float64{p.Time, p.Share, p.Low, p.High} {
			if math.Abs(got-printed[i][j]) > 0.00051 {
				t.Errorf("step %d: %g, printed %g", i, got, printed[i][j])
			}
		}
	}
	if *a.Groups[0].Median != 23 || *a.Groups[1].Median != 8 || a.Groups[0].High != nil {
		t.Errorf("medians %g and %g", *a.Groups[0].Median, *a.Groups[1].Median)
	}
	if math.Abs(a.Test.ChiSquared-16.79) > 0.005 || math.Abs(a.Groups[0].Expected-19.25) > 0.005 || math.Abs(a.Groups[1].Expected-10.75) > 0.005 || a.Test.ClusterP == nil {
		t.Errorf("%+v", a.Test)
	}
}

// The truth of the demo: blood breaks twice as often at each load, and nothing else much more.
func TestTheDemoSeasonsLives(t *testing.T) {
	t.Parallel()
	s := fixture.Demo(t, demo.Seed, demo.Sessions)
	for _, in := range []string{life.Hours, life.Loads} {
		a := followed(t, s, life.Request{In: in})
		ties := 0
		for _, g := range a.Groups {
			ties += g.Ties
			if g.Ties != g.Breaks+g.Retied+g.Off {
				t.Errorf("%+v", g)
			}
			// In truth blood breaks twice as often as figure-eight, the other one fished much.
			blood, reference := g.Level.Word == "blood", a.Groups[a.Reference].Level.Word
			if apart := blood != (reference == "blood"); g.Verdict == stat.Differs && !apart || g.Level.Word == "figure-eight" && g.Verdict != stat.Differs && apart {
				t.Errorf("%s in %s is said to be %q of %s", g.Level.Word, in, g.Verdict, reference)
			}
		}
		if *a.Test.ClusterP > 0.05 || len(a.Marks) < 4 || ties < 700 {
			t.Errorf("in %s: %+v, %d ties, marks %v", in, a.Test, ties, a.Marks)
		}
	}
	a := followed(t, s, life.Request{By: "tippet", Where: []string{"junction=blood", "season=2026"}})
	if len(a.Groups) < 3 || a.Groups[0].Level.Number < a.Groups[1].Level.Number && a.By.Factor.Key != "tippet" {
		t.Errorf("%+v", a.Groups)
	}
	raw, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{`"log_rank"`, `"steps"`, `"at_risk"`, `"p_by_session"`, `"last_seen_at_retie"`} {
		if !strings.Contains(string(raw), key) {
			t.Errorf("no %s in the JSON", key)
		}
	}
}

func TestLivesThatMakeNoSense(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	if a := followed(t, s, life.Request{}); len(a.Groups) != 0 || a.Notes[0].Kind != life.NoteNothing {
		t.Errorf("of an empty journal: %+v", a)
	}
	for want, r := range map[string]life.Request{
		"hours or in loads": {In: "days"}, "gets shorter through its life": {By: "tag-length:25mm"}, `"mood" is not known`: {By: "mood"}, "write FACTOR=VALUE": {Where: []string{"blood"}},
	} {
		if _, err := life.Follow(context.Background(), s, r); !journal.IsInvalid(err) || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %q", r, err, want)
		}
	}
}
