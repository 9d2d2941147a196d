package season

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
	"rigtally/journal"
	"rigtally/journal/facts"
	"rigtally/journal/pg"
)

// outcomesOf holds an outcome of each angler's season beside the outfit's, as a review does.
func outcomesOf(t *testing.T, s *pg.Store, key string, anglers ...string) []Outcome {
	t.Helper()
	o, err := journal.OutcomeByKey(key)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := s.SeasonRows(t.Context(), 2026)
	if err != nil {
		t.Fatal(err)
	}
	var list []Outcome
	for _, name := range anglers {
		m := maker{Answer: &Answer{Angler: name, Year: 2026}, rows: rows}
		out := Outcome{Outcome: o, Standing: NoneTried}
		if err := m.outcome(&out); err != nil {
			t.Fatal(err)
		}
		list = append(list, out)
	}
	return list
}

func names(n int) []string {
	var list []string
	for i := range n {
		list = append(list, anglerName(i))
	}
	return list
}

// pumps are those of Gaver & O'Muircheartaigh (1987) as anglers: failures are tangles
// and a thousand hours are ten, in sessions whose counts differ by no more than
// chance.
func pumps(t *testing.T) (shrunkCase, []outing) {
	t.Helper()
	pumps := shrunkCases(t)["eb-gamma-poisson-pumps"]
	var all []outing
	for i, exposure := range pumps.Data.Exposure {
		minutes := int(math.Round(exposure * 10 * 60))
		sessions := (minutes + 24*60 - 1) / (24 * 60)
		failures := int(pumps.Data.Events[i])
		for n := range sessions {
			o := outing{Angler: anglerName(i), Minutes: minutes*(n+1)/sessions - minutes*n/sessions}
			if k := failures*(n+1)/sessions - failures*n/sessions; k > 0 {
				o.Events = []journal.Event{{Kind: journal.EventTangle, Count: k}}
			}
			all = append(all, o)
		}
	}
	return pumps, all
}

// Through the whole of the journal rates must shrink as published, and in a review as by themselves.
func TestShrunkRatesAreThePublishedOnes(t *testing.T) {
	t.Parallel()
	pumps, all := pumps(t)
	s := fixture.Open(t)
	keep(t, s, all)
	list := outcomesOf(t, s, "tangles", names(len(pumps.Expected.Mean))...)
	for i, o := range list {
		if !o.Varies || o.Units != len(list) || o.Own.Level[0].Word != anglerName(i) || o.Own.Dispersion != 1 || o.Own.Events != pumps.Data.Events[i] {
			t.Fatalf("%+v", o)
		}
		if want := pumps.Expected.Mean[i] / 10; math.Abs(*o.Shrunk-want) > 1e-7*want {
			t.Errorf("%s: shrunk to %g, published %g", anglerName(i), *o.Shrunk, want)
		}
		if !(*o.Low < *o.Shrunk && *o.Shrunk < *o.High) {
			t.Errorf("%+v", o)
		}
	}
	for i, want := range list[:3] {
		got := reviewOf(t, s, anglerName(i), 0).Outcomes[0]
		if got.Outcome.Key != "tangles" || got.Units != want.Units || *got.Shrunk != *want.Shrunk || *got.Low != *want.Low || *got.High != *want.High {
			t.Errorf("%+v, by itself %+v", got, want)
		}
	}
}

// Tarone's rats as anglers: tumours are foul hookups, one hookup a session.
func TestShrunkSharesAreThePublishedOnes(t *testing.T) {
	t.Parallel()
	rats := shrunkCases(t)["eb-beta-binomial-rats"]
	var all []outing
	for i, trials := range rats.Data.Trials {
		for n := range int(trials) {
			e := journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair}
			if n < int(rats.Data.Events[i]) {
				e.Hooking = journal.Foul
			}
			all = append(all, outing{Angler: anglerName(i), Minutes: 60, Events: []journal.Event{e}})
		}
	}
	s := fixture.Open(t)
	keep(t, s, all)
	list := outcomesOf(t, s, "foul-hook", names(len(rats.Expected.Mean))...)
	for i, o := range list {
		if want := rats.Expected.Mean[i]; o.Units != len(list) || o.Own.Dispersion != 1 || math.Abs(*o.Shrunk-want) > 1e-7*want {
			t.Errorf("%s: %+v, published %g", anglerName(i), o, want)
		}
	}
}

// Three anglers with the same rate, one of whom had it all on two wild days: that
// is how sessions differ, not how anglers do.
func TestWildSessionsAreNoDifferenceBetweenAnglers(t *testing.T) {
	t.Parallel()
	var all []outing
	for i := range 3 {
		for n := range 12 {
			o := outing{Angler: anglerName(i), Minutes: 180}
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
	keep(t, s, all)
	list := outcomesOf(t, s, "tangles", names(3)...)
	if list[0].Own.Rate <= list[1].Own.Rate {
		t.Errorf("%+v", list)
	}
	for i, o := range list {
		if o.Varies || o.Baseline.Events != 27+12+12 || *o.Shrunk != o.Baseline.Rate {
			t.Errorf("%s has %g, the outfit %g", anglerName(i), *o.Shrunk, o.Baseline.Rate)
		}
	}
}

// Intervals must hold the anglers' true rates about 95% of the time, though both
// the prior and the scatter of sessions are estimated. The bounds leave room for
// the chance of so few outfits; -long simulates ten times as many.
func TestShrunkIntervalsHoldTheTruth(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(11, 1))
	gamma := func(cv float64) float64 {
		return distuv.Gamma{Alpha: 1 / (cv * cv), Beta: 1 / (cv * cv), Src: rng}.Rand()
	}
	tangles, angler := journal.Outcomes()[0], []journal.By{{Factor: journal.Factor{Key: "angler"}}}
	held, total := 0, 0
	for range simulations(100) {
		var found journal.Answer
		truth := map[string]float64{}
		for i := range 5 {
			rate := 0.5 * gamma(0.5)
			g := journal.Sums{Level: []journal.Level{{Word: anglerName(i)}}, Stints: 12, Sessions: 12}
			for range 12 {
				hours := 2 + 4*rng.Float64()
				k := distuv.Poisson{Lambda: rate * gamma(0.5) * hours, Src: rng}.Rand()
				g.K, g.T, g.KK, g.KT, g.TT, g.TTT = g.K+k, g.T+hours, g.KK+k*k, g.KT+k*hours, g.TT+hours*hours, g.TTT+hours*hours*hours
			}
			found.Groups = append(found.Groups, g)
			found.Sessions += 12
			truth[anglerName(i)] = rate
		}
		groups, all, err := analytics.Estimate(tangles, angler, &facts.Rows{Answer: found})
		if err != nil {
			t.Fatal(err)
		}
		for me, g := range groups {
			out := Outcome{Outcome: tangles, Baseline: all}
			if err := out.shrink(groups, me); err != nil {
				t.Fatal(err)
			}
			total++
			if rate := truth[g.Level[0].Word]; *out.Low <= rate && rate <= *out.High {
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
	if empty := outcomesOf(t, s, "tangles", "Ilse")[0]; empty.Shrunk != nil || empty.Standing != NoneTried {
		t.Errorf("%+v", empty)
	}
	keep(t, s, []outing{{Angler: "Ilse", Minutes: 60}, {Angler: "Ilse", Minutes: 90}, {Angler: "Maud", Minutes: 600}})
	none := outcomesOf(t, s, "tangles", "Ilse", "Maud")
	if none[0].Units != 2 || none[0].Varies || *none[0].Shrunk != 0 || *none[0].High <= *none[1].High {
		t.Errorf("%+v", none)
	}
	if minutes := outcomesOf(t, s, "downtime", "Ilse")[0]; minutes.Shrunk != nil {
		t.Errorf("minutes lost: %+v", minutes)
	}
}
