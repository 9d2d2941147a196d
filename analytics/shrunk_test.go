package analytics_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
	"rigtally/internal/units"
	"rigtally/journal"
)

func shrunk(t *testing.T, j analytics.Asker, r analytics.Request) analytics.ShrunkAnswer {
	t.Helper()
	r.Units = units.Metric
	a, err := analytics.Shrunk(context.Background(), j, r)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// The pumps of Gaver & O'Muircheartaigh (1987) as anglers: failures are tangles
// and a thousand hours are ten, in sessions whose counts differ by no more than
// chance. Through the whole of the journal they must shrink as published.
func TestShrunkRatesAreThePublishedOnes(t *testing.T) {
	t.Parallel()
	pumps := fixture.ShrunkCases(t)["eb-gamma-poisson-pumps"]
	var all []fixture.Session
	for i, exposure := range pumps.Data.Exposure {
		minutes := int(math.Round(exposure * 10 * 60))
		sessions := (minutes + 24*60 - 1) / (24 * 60)
		failures := int(pumps.Data.Events[i])
		for n := range sessions {
			o := fixture.Session{Angler: fixture.Angler(i), Minutes: minutes*(n+1)/sessions - minutes*n/sessions}
			if k := failures*(n+1)/sessions - failures*n/sessions; k > 0 {
				o.Events = []journal.Event{{Kind: journal.EventTangle, Count: k}}
			}
			all = append(all, o)
		}
	}
	s := fixture.Open(t)
	fixture.Keep(t, s, all)
	a := shrunk(t, s, analytics.Request{Outcome: "tangles"})
	if !a.Varies || len(a.Anglers) != len(pumps.Expected.Mean) {
		t.Fatalf("%+v", a)
	}
	for i, g := range a.Anglers {
		if g.Angler != fixture.Angler(i) || g.Dispersion != 1 || g.Events != pumps.Data.Events[i] {
			t.Fatalf("%+v", g)
		}
		if want := pumps.Expected.Mean[i] / 10; math.Abs(g.Shrunk-want) > 1e-7*want {
			t.Errorf("%s: shrunk to %g, published %g", g.Angler, g.Shrunk, want)
		}
		if !(g.Low < g.Shrunk && g.Shrunk < g.High) {
			t.Errorf("%+v", g)
		}
	}
}

// Tarone's rats as anglers: tumours are foul hookups, one hookup a session.
func TestShrunkSharesAreThePublishedOnes(t *testing.T) {
	t.Parallel()
	rats := fixture.ShrunkCases(t)["eb-beta-binomial-rats"]
	var all []fixture.Session
	for i, trials := range rats.Data.Trials {
		for n := range int(trials) {
			e := journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair}
			if n < int(rats.Data.Events[i]) {
				e.Hooking = journal.Foul
			}
			all = append(all, fixture.Session{Angler: fixture.Angler(i), Minutes: 60, Events: []journal.Event{e}})
		}
	}
	s := fixture.Open(t)
	fixture.Keep(t, s, all)
	a := shrunk(t, s, analytics.Request{Outcome: "foul-hook"})
	if len(a.Anglers) != len(rats.Expected.Mean) {
		t.Fatalf("%d anglers", len(a.Anglers))
	}
	for i, g := range a.Anglers {
		if want := rats.Expected.Mean[i]; g.Dispersion != 1 || math.Abs(g.Shrunk-want) > 1e-7*want {
			t.Errorf("%s: %+v, published %g", g.Angler, g, want)
		}
	}
}

// Three anglers with the same rate, one of whom had it all on two wild days: that
// is how sessions differ, not how anglers do.
func TestWildSessionsAreNoDifferenceBetweenAnglers(t *testing.T) {
	t.Parallel()
	var all []fixture.Session
	for i := range 3 {
		for n := range 12 {
			o := fixture.Session{Angler: fixture.Angler(i), Minutes: 180}
			switch {
			case i == 0 && n < 3:
				o.Events = []journal.Event{{Kind: journal.EventTangle, Count: 9}}
			case i > 0 && n < 8:
				o.Events = []journal.Event{{Kind: journal.EventTangle, Count: 1 + n%2}}
			}
			all = append(all, o)
		}
	}
	s := fixture.Open(t)
	fixture.Keep(t, s, all)
	a := shrunk(t, s, analytics.Request{Outcome: "tangles"})
	if a.Varies || a.Outfit.Events != 27+12+12 || a.Anglers[0].Rate <= a.Anglers[1].Rate {
		t.Errorf("%+v", a)
	}
	for _, g := range a.Anglers {
		if g.Shrunk != a.Outfit.Rate {
			t.Errorf("%s has %g, the outfit %g", g.Angler, g.Shrunk, a.Outfit.Rate)
		}
	}
}

// sums answers every question with the same sums.
type sums journal.Answer

// Ask is never used.
func (s sums) Ask(context.Context, journal.Question) (journal.Answer, error) {
	return journal.Answer{}, errors.ErrUnsupported
}

func (s sums) Rows(context.Context, journal.Question) (*journal.Rows, error) {
	return &journal.Rows{Answer: journal.Answer(s)}, nil
}

// Intervals must hold the anglers' true rates about 95% of the time, though both
// the prior and the scatter of sessions are estimated. The bounds leave room for
// the chance of 300 outfits.
func TestShrunkIntervalsHoldTheTruth(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(11, 1))
	gamma := func(cv float64) float64 {
		return distuv.Gamma{Alpha: 1 / (cv * cv), Beta: 1 / (cv * cv), Src: rng}.Rand()
	}
	held, total := 0, 0
	for range 300 {
		var found journal.Answer
		var truth []float64
		for i := range 5 {
			rate := 0.5 * gamma(0.5)
			g := journal.Sums{Level: []journal.Level{{Word: fixture.Angler(i)}}, Stints: 12, Sessions: 12}
			for range 12 {
				hours := 2 + 4*rng.Float64()
				k := distuv.Poisson{Lambda: rate * gamma(0.5) * hours, Src: rng}.Rand()
				g.K, g.T, g.KK, g.KT, g.TT, g.TTT = g.K+k, g.T+hours, g.KK+k*k, g.KT+k*hours, g.TT+hours*hours, g.TTT+hours*hours*hours
			}
			found.Groups = append(found.Groups, g)
			found.Sessions += 12
			truth = append(truth, rate)
		}
		a := shrunk(t, sums(found), analytics.Request{Outcome: "tangles"})
		for i, g := range a.Anglers {
			total++
			if g.Low <= truth[i] && truth[i] <= g.High {
				held++
			}
		}
	}
	if share := float64(held) / float64(total); share < 0.915 || share > 0.985 {
		t.Errorf("%.3f of the true rates held", share)
	}
}

func TestShrunkAtTheEdges(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	empty := shrunk(t, s, analytics.Request{Outcome: "tangles"})
	if len(empty.Anglers) != 0 || empty.Notes[0].Kind != analytics.NoteNothing {
		t.Errorf("%+v", empty)
	}
	fixture.Keep(t, s, []fixture.Session{{Angler: "Ilse", Minutes: 60}, {Angler: "Ilse", Minutes: 90}, {Angler: "Maud", Minutes: 600}})
	none := shrunk(t, s, analytics.Request{Outcome: "tangles"})
	if len(none.Anglers) != 2 || none.Varies || none.Anglers[0].Shrunk != 0 || none.Anglers[0].High <= none.Anglers[1].High {
		t.Errorf("%+v", none)
	}
	for _, a := range []analytics.ShrunkAnswer{empty, none, shrunk(t, s, analytics.Request{Outcome: "loss", Where: []string{"season=2025"}})} {
		raw, err := json.Marshal(a)
		if err != nil {
			t.Fatal(err)
		}
		for _, key := range []string{`"outcome":`, `"unit":`, `"outfit":{`, `"varies":`, `"anglers":[`, `"left_out":{`} {
			if !strings.Contains(string(raw), key) {
				t.Errorf("no %s in %s", key, raw)
			}
		}
	}
	if _, err := analytics.Shrunk(context.Background(), s, analytics.Request{Outcome: "downtime", Units: units.Metric}); !journal.IsInvalid(err) {
		t.Errorf("minutes lost: %v", err)
	}
}
