package analytics_test

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
	"rigtally/analytics/stat"
	"rigtally/analytics/stat/published"
	"rigtally/internal/units"
	"rigtally/journal/demo"
)

// Every case goes through the whole of the journal and must come out of the marginal fit as R's glm
// with sandwich's vcovCL, or with CR2, has it.
func TestCorrectedAnswersAgreeWithR(t *testing.T) {
	t.Parallel()
	cases, tol := published.Cases[publishedCase](t, "corrected.json")
	for _, c := range cases {
		t.Run(c.ID, func(t *testing.T) {
			t.Parallel()
			s := fixture.Open(t)
			c.Data.store(t, s, c.Data.inOrder())
			a := rates(t, s, analytics.Request{Outcome: c.Outcome, By: []string{c.By}, Versus: c.Versus, Given: c.Given, Model: "marginal"})
			for i, name := range c.Levels[c.By][1:] {
				g := groupOf(t, a, name)
				agree(t, name+" ratio", g.Corrected.Ratio, c.Expected.Ratio[i], tol)
				agree(t, name+" se_log", g.Corrected.SELog, c.Expected.SELog[i], tol)
				if few := min(g.Sessions, groupOf(t, a, c.Versus).Sessions); few < 50 && a.Total.Sessions >= 20 {
					continue // its interval has fewer degrees of freedom than R was asked for
				}
				agree(t, name+" df", g.Corrected.DF, c.Expected.DF[i], tol)
				agree(t, name+" low", g.Corrected.Low, c.Expected.Low[i], tol)
				agree(t, name+" high", g.Corrected.High, c.Expected.High[i], tol)
				agree(t, name+" p", g.Corrected.P, c.Expected.P[i], 10*tol)
			}
		})
	}
}

func groupOf(t *testing.T, a analytics.RateAnswer, word string) analytics.Group {
	t.Helper()
	for _, g := range a.Groups {
		if g.Level[0].Word == word {
			return g
		}
	}
	t.Fatalf("no group %q", word)
	return analytics.Group{}
}

// The order in which sessions and stints were stored, and whether a stint was
// logged as one or as two, must change no corrected number; the rows behind HC1's
// (n−1)/(n−p) do, so stints are split below 20 sessions, where it is not used.
func TestCorrectedAnswersDoNotDependOnOrderOrUnits(t *testing.T) {
	t.Parallel()
	cases, _ := published.Cases[publishedCase](t, "corrected.json")
	for _, c := range cases {
		if c.ID != "rate-hc1" && c.ID != "rate-cr2" {
			continue
		}
		ask := analytics.Request{Outcome: c.Outcome, By: []string{c.By}, Versus: c.Versus, Given: append(c.Given, "flow")}
		plain := fixture.Open(t)
		c.Data.store(t, plain, c.Data.inOrder())
		want := rates(t, plain, ask)
		ask.Units = units.US
		if got := rates(t, plain, ask); !sameCorrected(got, want) {
			t.Errorf("%s: units change the answer", c.ID)
		}
		ask.Units = units.Metric
		shuffled := fixture.Open(t)
		c.Data.store(t, shuffled, rand.New(rand.NewPCG(1, 1)).Perm(len(c.Data.Session)))
		if got := rates(t, shuffled, ask); !sameCorrected(got, want) {
			t.Errorf("%s: the order changes the answer", c.ID)
		}
		if c.ID == "rate-hc1" {
			continue
		}
		split := fixture.Open(t)
		c.Data.split().store(t, split, c.Data.split().inOrder())
		if got := rates(t, split, ask); !sameCorrected(got, want) {
			t.Errorf("%s: splitting stints changes the answer", c.ID)
		}
	}
}

func sameCorrected(a, b analytics.RateAnswer) bool {
	same := func(x, y *float64) bool { return x != nil && y != nil && fixture.Near(*x, *y) }
	return slices.EqualFunc(a.Groups, b.Groups, func(g, h analytics.Group) bool {
		if g.Corrected == nil || h.Corrected == nil {
			return g.Corrected == h.Corrected
		}
		c, d := g.Corrected, h.Corrected
		return same(c.Ratio, d.Ratio) && same(c.SELog, d.SELog) && same(c.DF, d.DF) && same(c.P, d.P)
	})
}

// The demo's effects that a plain comparison gets wrong must lie inside the corrected
// intervals about as often as 95% intervals promise.
func TestCorrectionFindsTheDemoSeasonsEffects(t *testing.T) {
	t.Parallel()
	tested, covered := 0, 0
	for seed := range uint64(2) {
		s := fixture.Demo(t, seed+1, 400)
		for _, e := range demo.Effects() {
			if e.Given == nil || strings.Contains(e.Level, "mm") || strings.Contains(e.Level, "°C") {
				continue
			}
			a := rates(t, s, analytics.Request{Outcome: e.Outcome, By: []string{e.Factor}, Versus: e.Versus, Given: e.Given})
			for _, g := range a.Groups {
				if !isLevel(a, g, e.Level) || g.Corrected == nil || g.Corrected.Low == nil {
					continue
				}
				tested++
				if *g.Corrected.Low <= e.Ratio && e.Ratio <= *g.Corrected.High {
					covered++
				} else {
					t.Logf("%s, %s against %s: %.2f (%.2f–%.2f), truly %.2f", e.Outcome, e.Level, e.Versus, *g.Corrected.Ratio, *g.Corrected.Low, *g.Corrected.High, e.Ratio)
				}
			}
		}
	}
	if tested < 40 || float64(covered) < 0.88*float64(tested) {
		t.Errorf("%d of %d true effects lie in their corrected intervals", covered, tested)
	}
}

// Blood truly tangles 1.5 times as often as figure-eight, but the guide, who tangles least,
// ties it: corrected for the angler the comparison must turn round and say why.
func TestCorrectionSeesThroughTheParadox(t *testing.T) {
	t.Parallel()
	s := fixture.Demo(t, demo.Seed, demo.Sessions)
	a := rates(t, s, analytics.Request{Outcome: "tangles", By: []string{"junction"}, Versus: "figure-eight", Given: []string{"bulk", "angler", "tag-length"}})
	blood := groupOf(t, a, "blood")
	if *blood.Versus.High >= 1 || *blood.Corrected.Low <= 1 || blood.Versus.Verdict != stat.Differs {
		t.Errorf("plain %.2f, corrected %.2f (%.2f–%.2f), %s", *blood.Versus.Ratio, *blood.Corrected.Ratio, *blood.Corrected.Low, *blood.Corrected.High, blood.Versus.Verdict)
	}
	found := false
	for _, n := range a.Notes {
		if n.Kind == analytics.NoteReversal && a.Groups[n.Group].Level[0].Word == "blood" {
			found = n.Factor.Key == "angler"
		}
	}
	if !found {
		t.Errorf("the notes do not say that it is the angler: %+v", a.Notes)
	}
}

func TestTheJSONOfACorrectedAnswer(t *testing.T) {
	t.Parallel()
	s := fixture.Demo(t, 1, 100)
	raw, err := json.Marshal(rates(t, s, analytics.Request{Outcome: "tangles", By: []string{"junction"}, Given: []string{"tag-length:linear", "bulk", "angler"}}))
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Given  []string
		Groups []struct {
			Versus    map[string]any
			Corrected map[string]any
		}
	}
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got.Given, []string{"tag-length:linear", "bulk", "angler"}) {
		t.Errorf("given %q", got.Given)
	}
	for i, g := range got.Groups {
		if (g.Versus == nil) != (g.Corrected == nil) {
			t.Errorf("group %d: versus %v, corrected %v", i, g.Versus, g.Corrected)
		}
		for _, key := range []string{"ratio", "ratio_low", "ratio_high", "p", "se_log", "df", "method"} {
			if _, ok := g.Corrected[key]; g.Corrected != nil && !ok {
				t.Errorf("no %q in %v", key, g.Corrected)
			}
		}
	}
}
