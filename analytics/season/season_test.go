package season

import (
	"encoding/json"
	"slices"
	"testing"

	"rigtally/analytics"
	"rigtally/analytics/claim"
	"rigtally/analytics/fixture"
	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

func reviewOf(t *testing.T, s *pg.Store, angler string, year int) Answer {
	t.Helper()
	a, err := Review(t.Context(), s, Request{Angler: angler, Year: year, Units: units.Metric})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// What a review says in one pass must be what each question says by itself.
func TestSeasonAgreesWithQuestions(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	if err := demo.Load(t.Context(), s, demo.Generate(9, 150)); err != nil {
		t.Fatal(err)
	}
	const name = "Fen Amberquist"
	a := reviewOf(t, s, "fen amberquist", 2026)
	if a.Angler != name || a.Year != 2026 || a.Totals.Sessions == 0 {
		t.Fatalf("%q in %d, %+v", a.Angler, a.Year, a.Totals)
	}
	where := []string{"angler=" + name, "season=2026"}
	for _, c := range []struct {
		got         analytics.RateAnswer
		outcome, by string
	}{{a.Months.Hookups, "hookups", "month"}, {a.Months.Landed, "landed", "month"}} {
		want, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: c.outcome, By: []string{c.by}, Where: where, Units: units.Metric})
		if err != nil {
			t.Fatal(err)
		}
		same(t, c.outcome+" by "+c.by, c.got, want)
	}
	for outcome, got := range map[string]analytics.RateAnswer{"tangles": a.Rigs.Tangles, "hookups": a.Rigs.Hookups, "landed": a.Rigs.Landed} {
		want, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: outcome, By: []string{"rig"}, Where: where, Given: []string{analytics.NoGiven}, Units: units.Metric})
		if err != nil || len(got.Groups) != len(want.Groups) {
			t.Fatalf("%d rigs, by themselves %d: %v", len(got.Groups), len(want.Groups), err)
		}
		for i, g := range got.Groups {
			if w := want.Groups[i]; g.Versus != nil || g.Level[0] != w.Level[0] || g.Events != w.Events || g.Rate != w.Rate || g.Low != w.Low || g.High != w.High {
				t.Errorf("%s: %+v, by itself %+v", outcome, g, w)
			}
		}
	}
	for _, c := range a.Charts {
		want, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: c.Outcome.Key, Where: where, Units: units.Metric})
		if err != nil {
			t.Fatal(err)
		}
		var events, exposure float64
		for _, p := range c.Points {
			events, exposure = events+p.Events, exposure+p.Exposure
		}
		if g := want.Groups[0]; len(c.Points) != g.Sessions || !fixture.Near(events, g.Events) || !fixture.Near(exposure, g.Exposure) || !fixture.Near(c.Centre, g.Rate) {
			t.Errorf("the chart of %s has %d points, %g in %g; by itself %+v", c.Outcome.Key, len(c.Points), events, exposure, g)
		}
	}
	for _, o := range a.Outcomes {
		want, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: o.Outcome.Key, By: []string{"angler"}, Where: []string{"season=2026"}, Units: units.Metric})
		if err != nil {
			t.Fatal(err)
		}
		if o.Own.Exposure == 0 {
			continue // nobody of that name
		}
		if want.Total.Events != o.Baseline.Events || want.Total.Sessions < o.Own.Sessions {
			t.Errorf("%s: the outfit has %+v, by itself %+v", o.Outcome.Key, o.Baseline, want.Total)
		}
		for _, g := range want.Groups {
			if g.Level[0].Word == name && (g.Rate != o.Own.Rate || g.Dispersion != o.Own.Dispersion || g.Low != o.Own.Low || g.High != o.Own.High) {
				t.Errorf("%s: %+v, by itself %+v", o.Outcome.Key, o.Own, g)
			}
		}
	}
}

// same holds two answers together by what programs read of them.
func same(t *testing.T, what string, got, want analytics.RateAnswer) {
	t.Helper()
	a, err := json.Marshal(got)
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	if string(a) != string(b) {
		t.Errorf("%s is\n%s\nby itself\n%s", what, a, b)
	}
}

// The evidence of an angler must be that of their own sessions, and apart from it
// the board's of the outfit.
func TestSeasonEvidence(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	if err := demo.Load(t.Context(), s, demo.Generate(demo.Seed, demo.Sessions)); err != nil {
		t.Fatal(err)
	}
	a := reviewOf(t, s, "Fen Amberquist", 0)
	board, err := claim.Judge(t.Context(), s, units.Metric)
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Evidence) != 2 || a.Evidence[0].Angler != "Fen Amberquist" || a.Evidence[1].Angler != "" {
		t.Fatalf("evidence of %+v", a.Evidence)
	}
	own, all := a.Evidence[0], a.Evidence[1]
	if a.Year != 2026 { // the demo's last, so that the outfit's evidence is all there is
		t.Fatalf("season %d", a.Year)
	}
	// A question has one verdict: on the board, as a claim of the review, and as the question of rates behind both.
	for i, c := range all.Claims.Claims {
		if want := board.Claims[i]; c.Verdict != want.Verdict || !fixture.Near(*c.Ratio, *want.Ratio) || !fixture.Near(*c.P, *want.P) || !fixture.Near(*c.Q, *want.Q) {
			t.Errorf("%q: %s, on the board %s", c.Claim.Words, c.Verdict, want.Verdict)
		}
		if c.Step != 0 || len(c.Claim.Level)+len(c.Claim.Versus) > 2 {
			continue
		}
		q, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: c.Claim.Outcome, By: []string{c.Claim.Factor}, Versus: c.Claim.Versus[0], Units: units.Metric})
		if err != nil {
			t.Fatal(err)
		}
		g := q.Groups[slices.IndexFunc(q.Groups, func(g analytics.Group) bool { return g.Level[0].Word == c.Claim.Level[0] })]
		f := findingOf(t, all, i)
		if g.Versus.Verdict != c.Verdict || f.Verdict != c.Verdict || !fixture.Near(*g.Corrected.Ratio, *c.Ratio) || !fixture.Near(*g.Corrected.P, *c.P) || !fixture.Near(*g.Versus.Q, *c.Q) ||
			!fixture.Near(f.Ratio, *c.Ratio) || !fixture.Near(f.P, *c.P) || !fixture.Near(f.Q, *c.Q) || !fixture.Near(*g.Versus.MoreHours, *c.MoreHours) {
			t.Errorf("%q: %+v, asked for itself %+v %+v, as a finding %+v", c.Claim.Words, c, g.Corrected, g.Versus, f)
		}
	}
	corrected, err := analytics.Rates(t.Context(), s, analytics.Request{Outcome: "tangles", By: []string{"junction"}, Where: []string{"angler=Fen Amberquist"}, Units: units.Metric})
	if err != nil {
		t.Fatal(err)
	}
	for i, g := range own.Choices[0].Groups {
		want := corrected.Groups[i]
		if (g.Corrected == nil) != (want.Corrected == nil) || g.Corrected != nil && (!fixture.Near(*g.Corrected.Ratio, *want.Corrected.Ratio) || g.Versus.Verdict != want.Versus.Verdict) {
			t.Errorf("%s: %+v, by itself %+v", g.Level[0].Word, g.Versus, want.Versus)
		}
	}
	if own.Hours >= all.Hours || own.Sessions >= all.Sessions || own.Sessions == 0 {
		t.Errorf("%v of %v", own, all)
	}
	for _, e := range a.Evidence {
		for _, f := range e.Findings {
			if !(f.Q < 0.05 && f.QListed < 0.05) || f.Verdict != stat.Differs {
				t.Errorf("%v: holds with q %g, over the list %g", e, f.Q, f.QListed)
			}
		}
		for _, f := range e.Open {
			if f.Holds() {
				t.Errorf("%v holds and is open", f)
			}
			if f.MoreHours == nil {
				continue
			}
			if n := float64(*f.Outings); *f.MoreHours < 0 || n*e.PerOuting < *f.MoreHours-1e-9 || (n-1)*e.PerOuting >= *f.MoreHours && n > 0 {
				t.Errorf("%v: %g h in %g outings of %g h", e, *f.MoreHours, n, e.PerOuting)
			}
		}
	}
}

// findingOf is what a claim of the evidence became.
func findingOf(t *testing.T, e Evidence, claim int) Finding {
	t.Helper()
	for _, f := range slices.Concat(e.Findings, e.Open) {
		if f.Claim == claim {
			return f
		}
	}
	t.Fatalf("claim %d is no finding", claim)
	return Finding{}
}

// An empty journal, an empty year, an angler who never fished and a season of one
// session are all reviews; nothing in them is not a number.
func TestSeasonOfLittle(t *testing.T) {
	t.Parallel()
	s := fixture.Open(t)
	a := reviewOf(t, s, "", 0)
	if a.Year != 0 || a.Totals.Sessions != 0 || len(a.Evidence) != 0 {
		t.Errorf("an empty journal has %+v", a)
	}
	marshals(t, a)
	if _, err := Review(t.Context(), s, Request{Angler: "Nobody"}); err == nil {
		t.Error("a season of nobody")
	}
	fixture.Fish(t, s, fixture.Outings{Junction: "blood", Minutes: []int{90}, Events: fixture.One(1, journal.Event{Kind: journal.EventTangle})})
	for _, who := range []string{"", "Ilse"} {
		a = reviewOf(t, s, who, 0)
		if a.Year != 2026 || a.Totals.Sessions != 1 || a.Totals.Days != 1 || a.Totals.Hours != 1.5 || a.Totals.Tangles.N != 1 || a.Compared != 0 || len(a.Charts) != 0 {
			t.Errorf("one session: %+v", a.Totals)
		}
		for _, o := range a.Outcomes {
			if o.Standing != Alone && o.Standing != NoneTried {
				t.Errorf("one session: %s is %s", o.Outcome.Key, o.Standing)
			}
		}
		marshals(t, a)
	}
	if a = reviewOf(t, s, "Ilse", 2020); a.Totals.Sessions != 0 || len(a.Seasons) != 1 {
		t.Errorf("an empty year: %+v", a)
	}
	marshals(t, a)
}

func marshals(t *testing.T, a Answer) {
	t.Helper()
	if _, err := json.Marshal(a); err != nil {
		t.Error(err)
	}
	if _, err := json.Marshal(a.Share(Sharing{WithoutNames: true, BlurWaters: true})); err != nil {
		t.Error(err)
	}
}
