package analytics_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/fixture"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

func rates(t *testing.T, s *pg.Store, r analytics.Request) analytics.RateAnswer {
	t.Helper()
	if r.Units == "" {
		r.Units = units.Metric
	}
	a, err := analytics.Rates(context.Background(), s, r)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// publishedRatio reads a case of testdata/reference/rate-ratio.json.
func publishedRatio(t *testing.T, id string) (want struct {
	Ratio  float64
	Limits []struct{ Conf, Low, High float64 }
	P      float64
}) {
	t.Helper()
	raw, err := os.ReadFile("../testdata/reference/rate-ratio.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Cases []struct {
			ID       string
			Expected json.RawMessage
		}
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	for _, c := range file.Cases {
		if c.ID == id {
			if err := json.Unmarshal(c.Expected, &want); err != nil {
				t.Fatal(err)
			}
			return want
		}
	}
	t.Fatalf("no case %s", id)
	return want
}

// R's ?poisson.test compares 11 cases in 800 with 21 in 3011 person-years
// (eba1977). The same counts as tangles and hours, no outing with more than one,
// must give R's ratio, interval and central p through the whole of the journal.
func TestRatesAgreeWithAPublishedComparison(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	tangle := journal.Event{Kind: journal.EventTangle}
	fixture.Fish(t, s, fixture.Outings{Junction: "blood", Minutes: fixture.Spread(800), Events: fixture.One(11, tangle)}, fixture.Outings{Junction: "uni", Minutes: fixture.Spread(3011), Events: fixture.One(21, tangle)})
	a := rates(t, s, analytics.Request{Outcome: "tangles", By: []string{"junction"}})
	if len(a.Groups) != 2 || a.Groups[a.Reference].Level[0].Word != "uni" {
		t.Fatalf("groups %+v, reference %d", a.Groups, a.Reference)
	}
	want := publishedRatio(t, "eba1977")
	v := a.Groups[0].Versus
	if !fixture.Near(*v.Ratio, want.Ratio) || !fixture.Near(*v.Low, want.Limits[0].Low) || !fixture.Near(*v.High, want.Limits[0].High) || !fixture.Near(*v.P, want.P) {
		t.Errorf("ratio %g (%g–%g) p %g, want %+v", *v.Ratio, *v.Low, *v.High, *v.P, want)
	}
	if v.Verdict != stat.Leans {
		t.Errorf("verdict %q for q = %g", v.Verdict, *v.Q)
	}
	again := rates(t, s, analytics.Request{Outcome: "tangles", By: []string{"junction"}, Versus: "Blood"})
	if u := again.Groups[1].Versus; again.Reference != 0 || !fixture.Near(*u.Ratio, 1/want.Ratio) || !fixture.Near(*u.Low, 1/want.Limits[0].High) {
		t.Errorf("against blood: %+v", again.Groups)
	}
}

// 15 of 148 is a case of Newcombe (1998, Statistics in Medicine 17:857); its
// Clopper–Pearson limits are those of binom.test(15, 148) in R 4.2.2.
func TestSharesAgreeWithAPublishedInterval(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	foul := func(n int) []journal.Event {
		e := journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Position: new(1)}
		if n < 15 {
			e.Hooking = journal.Foul
		}
		return []journal.Event{e}
	}
	fixture.Fish(t, s, fixture.Outings{Junction: "blood", Minutes: slices.Repeat([]int{60}, 148), Events: foul})
	a := rates(t, s, analytics.Request{Outcome: "foul-hook", By: []string{"junction"}})
	g := a.Groups[0]
	const tol = 5e-5 // the published limits have four digits
	if g.Events != 15 || g.Exposure != 148 || math.Abs(g.Low-0.0578) > tol || math.Abs(g.High-0.1617) > tol {
		t.Errorf("%g of %g: %g–%g, want 0.0578–0.1617", g.Events, g.Exposure, g.Low, g.High)
	}
}

// The demo season's true effects, as far as a plain comparison is fair, must lie
// in the intervals about as often as 95% intervals promise.
func TestTheDemoSeasonsEffectsAreFound(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	if err := demo.Load(context.Background(), s, demo.Generate(1, 400)); err != nil {
		t.Fatal(err)
	}
	tested, covered := 0, 0
	verdicts := map[string]stat.Verdict{}
	for _, e := range demo.Effects() {
		if e.Given != nil || strings.Contains(e.Level, "mm") || strings.Contains(e.Level, "°C") {
			continue
		}
		a := rates(t, s, analytics.Request{Outcome: e.Outcome, By: []string{e.Factor}, Versus: e.Versus})
		for _, g := range a.Groups {
			if !isLevel(a, g, e.Level) || g.Versus == nil || g.Versus.Low == nil || g.Versus.High == nil {
				continue
			}
			tested++
			verdicts[e.Outcome+" "+e.Level] = g.Versus.Verdict
			if *g.Versus.Low <= e.Ratio && e.Ratio <= *g.Versus.High {
				covered++
			} else {
				t.Logf("%s, %s against %s: %.2f (%.2f–%.2f), truly %.2f", e.Outcome, e.Level, e.Versus, *g.Versus.Ratio, *g.Versus.Low, *g.Versus.High, e.Ratio)
			}
		}
	}
	if tested < 30 || float64(covered) < 0.88*float64(tested) {
		t.Errorf("%d of %d true effects lie in their intervals", covered, tested)
	}
	for _, strong := range []string{"junction-break blood", "tangles legged"} {
		if v := verdicts[strong]; v != stat.Differs && v != stat.Leans {
			t.Errorf("%s: %q", strong, v)
		}
	}
}

func isLevel(a analytics.RateAnswer, g analytics.Group, text string) bool {
	if l := g.Level[0]; l.Kind == journal.WordLevel {
		return l.Word == text
	}
	v, err := units.Parse(units.Tippet, text, units.X)
	if a.By[0].Factor.Key != "tippet" {
		v, err = units.ParseNumber(text)
	}
	return err == nil && math.Abs(g.Level[0].Number-v) < 1e-9
}

// The guide of the demo season ties blood, which truly tangles 1.5 times as often as
// figure-eight; a plain comparison must show the opposite, to be seen through later.
func TestTheDemoSeasonMisleadsAPlainComparison(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	if err := demo.Load(context.Background(), s, demo.Generate(demo.Seed, demo.Sessions)); err != nil {
		t.Fatal(err)
	}
	a := rates(t, s, analytics.Request{Outcome: "tangles", By: []string{"junction"}, Versus: "figure-eight"})
	for _, g := range a.Groups {
		if g.Level[0].Word == "blood" && *g.Versus.High >= 1 {
			t.Errorf("blood against figure-eight: %.2f (%.2f–%.2f), want below 1", *g.Versus.Ratio, *g.Versus.Low, *g.Versus.High)
		}
	}
}

func TestTheJSONOfAnAnswer(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	fixture.Fish(t, s, fixture.Outings{Junction: "blood", Minutes: fixture.Spread(100), Events: fixture.One(3, journal.Event{Kind: journal.EventTangle})}, fixture.Outings{Junction: "uni", Minutes: fixture.Spread(60), Events: fixture.One(0, journal.Event{})})
	raw, err := json.Marshal(rates(t, s, analytics.Request{Outcome: "tangles", By: []string{"junction"}}))
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Version       int
		Outcome, Unit string
		By, Given     []string
		Groups        []map[string]any
		LeftOut       map[string]int `json:"left_out"`
	}
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	if got.Version != 2 || got.Outcome != "tangles" || got.Unit != "per hour" || !slices.Equal(got.By, []string{"junction"}) || got.Given == nil || got.LeftOut == nil || len(got.Groups) != 2 {
		t.Fatalf("%s", raw)
	}
	for _, key := range []string{"level", "stints", "sessions", "exposure", "events", "dispersion", "rate", "low", "high", "versus", "ratio", "ratio_low", "ratio_high", "p", "q", "verdict", "more_hours"} {
		for _, g := range got.Groups {
			if _, ok := g[key]; !ok {
				t.Errorf("no %q in %v", key, g)
			}
		}
	}
	uni := got.Groups[1]
	if uni["rate"] != 0.0 || uni["low"] != 0.0 || uni["ratio"] != 0.0 || uni["level"].(map[string]any)["junction"] != "uni" {
		t.Errorf("the group without an event: %v", uni)
	}
}

func TestNotes(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	nothing := rates(t, s, analytics.Request{Outcome: "tangles", By: []string{"junction"}})
	fixture.Fish(t, s, fixture.Outings{Junction: "blood", Minutes: []int{60, 60}, Events: fixture.One(0, journal.Event{})}, fixture.Outings{Junction: "uni", Minutes: []int{60}, Events: fixture.One(0, journal.Event{})})
	few := rates(t, s, analytics.Request{Outcome: "tangles", By: []string{"junction"}})
	for _, tt := range []struct {
		a    analytics.RateAnswer
		kind analytics.NoteKind
	}{{nothing, analytics.NoteNothing}, {few, analytics.NoteNoEvents}, {few, analytics.NoteTooFew}} {
		if !slices.ContainsFunc(tt.a.Notes, func(n analytics.Note) bool { return n.Kind == tt.kind }) {
			t.Errorf("no note %q in %+v", tt.kind, tt.a.Notes)
		}
	}
	for _, g := range few.Groups {
		if g.Versus != nil && (g.Versus.Ratio != nil || g.Versus.Verdict != "") {
			t.Errorf("no events at all, but a ratio or a verdict: %+v", g.Versus)
		}
	}
}

func TestMinutesLostAreNotTakenForNone(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	fixture.Fish(t, s, fixture.Outings{Junction: "blood", Minutes: fixture.Spread(100), Events: fixture.One(3, journal.Event{Kind: journal.EventTangle})})
	_, err := analytics.Rates(context.Background(), s, analytics.Request{Outcome: "downtime", By: []string{"junction"}, Units: units.Metric})
	if !journal.IsInvalid(err) || !strings.Contains(err.Error(), "no tangle here has its lost minutes noted") {
		t.Errorf("got %v", err)
	}
}
