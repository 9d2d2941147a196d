package demo_test

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"testing"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

// asker asks a loaded season.
type asker struct {
	*testing.T
	store *pg.Store
	known map[string][]journal.Sums // what was asked already
}

func load(t *testing.T, s demo.Season) asker {
	t.Helper()
	url := pgtest.NewDatabase(t)
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	if err := demo.Load(t.Context(), store, s); err != nil {
		t.Fatal(err)
	}
	analyze(t, url)
	return asker{t, store, map[string][]journal.Sums{}}
}

// analyze gathers the planner's statistics, which the tests' server does not do
// by itself; without them a question by two factors takes seconds.
func analyze(t *testing.T, url string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), pgtest.AsSuperuser(url))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), "ANALYZE"); err != nil {
		t.Fatal(err)
	}
	if err := conn.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
}

// ask sums an outcome by factors, the first in bands if there are edges.
func (a asker) ask(outcome string, edges []float64, by ...string) []journal.Sums {
	a.Helper()
	key := fmt.Sprint(outcome, edges, by)
	if groups, ok := a.known[key]; ok {
		return groups
	}
	o, err := journal.OutcomeByKey(outcome)
	if err != nil {
		a.Fatal(err)
	}
	q := journal.Question{Outcome: o}
	for i, key := range by {
		f, err := journal.FactorByKey(key)
		if err != nil {
			a.Fatal(err)
		}
		q.By = append(q.By, journal.By{Factor: f})
		if i == 0 {
			q.By[0].Edges = edges
		}
	}
	answer, err := a.store.Ask(a.Context(), q)
	if err != nil {
		a.Fatal(err)
	}
	a.known[key] = answer.Groups
	return answer.Groups
}

// is reports whether a level is the one that an effect writes.
func is(l journal.Level, factor, text string) bool {
	switch factor {
	case "tippet":
		mm, err := units.Parse(units.Tippet, text, "")
		return err == nil && l.Number == mm
	case "hook-size":
		n, err := strconv.ParseFloat(text, 64)
		return err == nil && l.Number == n
	}
	return l.Word == text
}

func find(groups []journal.Sums, factor, level string) (journal.Sums, bool) {
	i := slices.IndexFunc(groups, func(g journal.Sums) bool { return is(g.Level[0], factor, level) })
	if i < 0 {
		return journal.Sums{}, false
	}
	return groups[i], true
}

// within compares two levels of a factor within the levels of another.
func (a asker) within(e demo.Effect, given string) ratio {
	a.Helper()
	strata := map[string]*stratum{}
	groups := a.ask(e.Outcome, nil, e.Factor, given)
	for _, g := range groups {
		name := g.Level[1].Word
		if strata[name] == nil {
			strata[name] = &stratum{}
		}
		switch x := strata[name]; {
		case is(g.Level[0], e.Factor, e.Level):
			x.k1, x.t1 = g.K, g.T
		case is(g.Level[0], e.Factor, e.Versus):
			x.k0, x.t0 = g.K, g.T
		}
	}
	r := mantelHaenszel(values(strata))
	h := heterogeneity(groups)
	worst := 1.0
	for _, g := range groups {
		if is(g.Level[0], e.Factor, e.Level) {
			worst = math.Max(worst, dispersion(g, h))
		}
	}
	r.se *= math.Sqrt(worst)
	return r
}

func continuous(factor string) bool { return factor == "tag-length" || factor == "temperature" }

// checkEffects holds each listed effect of a word or size against its estimate:
// plain where that is fair, else within the levels of what must be given.
func (a asker) checkEffects(limit, bias float64) {
	a.Helper()
	for _, e := range demo.Effects() {
		if continuous(e.Factor) || slices.ContainsFunc(e.Given, continuous) {
			continue
		}
		groups := a.ask(e.Outcome, nil, e.Factor)
		one, ok1 := find(groups, e.Factor, e.Level)
		other, ok2 := find(groups, e.Factor, e.Versus)
		if !ok1 || !ok2 {
			a.Errorf("%s by %s: no %s or no %s in the season", e.Outcome, e.Factor, e.Level, e.Versus)
			continue
		}
		const fewest = 8 // with fewer events the logarithm is far from normal
		if one.K < fewest || other.K < fewest {
			a.Logf("%s by %s: %g %s and %g %s are too few", e.Outcome, e.Factor, one.K, e.Level, other.K, e.Versus)
			continue
		}
		found := plain(one, other, heterogeneity(groups))
		shown := found
		if e.Given != nil {
			found = a.within(e, e.Given[0])
		}
		off := found.off(e.Ratio, bias)
		a.Logf("%-14s %-9s %-18s versus %-16s true %.2f, plain %.2f, fair %.2f (%.2f to %.2f), off %.1f", e.Outcome, e.Factor, e.Level, e.Versus, e.Ratio,
			shown.value, found.value, found.value*math.Exp(-1.96*found.se), found.value*math.Exp(1.96*found.se), off)
		if off > limit {
			a.Errorf("%s by %s, %s versus %s: %.2f is %.1f standard errors from the truth of %.2f", e.Outcome, e.Factor, e.Level, e.Versus, found.value, off, e.Ratio)
		}
	}
}

// curve compares the values above a gap with those below it within strata, as
// seen and after the exposure at each value is multiplied by the curve there,
// which must leave a ratio of 1. The gap is given by its two edges.
func (a asker) curve(outcome, factor, stratify string, gap []float64, curve func(float64) float64) (seen, left ratio) {
	a.Helper()
	pool := func(curve func(float64) float64) ratio {
		strata := map[string]*stratum{}
		for _, g := range a.ask(outcome, nil, factor, stratify) {
			name := g.Level[1].Word
			if strata[name] == nil {
				strata[name] = &stratum{}
			}
			switch x, t := strata[name], g.T*curve(g.Level[0].Number); {
			case g.Level[0].Number >= gap[1]:
				x.k1, x.t1 = x.k1+g.K, x.t1+t
			case g.Level[0].Number < gap[0]:
				x.k0, x.t0 = x.k0+g.K, x.t0+t
			}
		}
		return mantelHaenszel(values(strata))
	}
	bands := a.ask(outcome, gap, factor, stratify)
	h, worst := heterogeneity(bands), 1.0
	for _, b := range bands {
		worst = math.Max(worst, dispersion(b, h))
	}
	seen, left = pool(func(float64) float64 { return 1 }), pool(curve)
	seen.se *= math.Sqrt(worst)
	left.se *= math.Sqrt(worst)
	return seen, left
}

func values(strata map[string]*stratum) []stratum {
	var list []stratum
	for _, x := range strata {
		list = append(list, *x)
	}
	return list
}

func (a asker) checkCurves(limit, bias float64) {
	a.Helper()
	tag := func(mm float64) float64 { return demo.TagLengthRatio(mm, 120) }
	warm := func(c float64) float64 { return demo.TemperatureRatio(c, 13) }
	for _, c := range []struct {
		outcome, factor, stratify string
		gap                       []float64
		curve                     func(float64) float64
	}{
		{"tangles", "tag-length", "angler", []float64{145, 185}, tag},
		{"twists", "tag-length", "angler", []float64{145, 185}, tag},
		{"turns", "tag-length", "angler", []float64{145, 185}, tag},
		{"hookups", "temperature", "water", []float64{8, 11}, warm},
	} {
		seen, left := a.curve(c.outcome, c.factor, c.stratify, c.gap, c.curve)
		a.Logf("%s by %s: %g and more over less than %g is %.2f; after the curve %.2f (se %.2f)", c.outcome, c.factor, c.gap[1], c.gap[0], seen.value, left.value, left.se)
		if off := left.off(1, bias); off > limit {
			a.Errorf("%s by %s: %.2f of what the curve says, %.1f standard errors off", c.outcome, c.factor, left.value, off)
		}
		if low := seen.value * math.Exp(-1.96*seen.se); low <= 1 {
			a.Errorf("%s by %s: the ratio of %.2f from high to low values may be 1", c.outcome, c.factor, seen.value)
		}
	}
}

// TestTruthIsFound: in the season that the demo shows, each known effect lies
// within what Poisson counts with heterogeneity allow.
func TestTruthIsFound(t *testing.T) {
	t.Parallel()
	a := load(t, demo.Generate(demo.Seed, demo.Sessions))
	a.checkEffects(2.5, 0)
	a.checkCurves(2.5, 0)
}

// TestTruthIsFoundAtLength: with more sessions what remains is the unevenness of
// a hundred rigs, which may move a plain ratio by a quarter.
func TestTruthIsFoundAtLength(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("2,000 sessions take seconds to load")
	}
	a := load(t, demo.Generate(5, 2000))
	a.checkEffects(3, math.Log(1.25))
	a.checkCurves(3, math.Log(1.1))
}

// TestParadox: blood junctions look better than figure-eights, and are worse
// once each angler is compared with herself.
func TestParadox(t *testing.T) {
	t.Parallel()
	a := load(t, demo.Generate(demo.Seed, demo.Sessions))
	i := slices.IndexFunc(demo.Effects(), func(e demo.Effect) bool {
		return e.Outcome == "tangles" && e.Factor == "junction" && e.Level == "blood"
	})
	e := demo.Effects()[i]
	groups := a.ask(e.Outcome, nil, e.Factor)
	blood, _ := find(groups, e.Factor, e.Level)
	eight, _ := find(groups, e.Factor, e.Versus)
	seen := plain(blood, eight, heterogeneity(groups))
	if high := seen.value * math.Exp(1.96*seen.se); high >= 1 {
		t.Errorf("plain ratio %.2f, up to %.2f: blood does not clearly look better", seen.value, high)
	}
	fair := a.within(e, "angler")
	if low := fair.value * math.Exp(-1.96*fair.se); low <= 1 {
		t.Errorf("ratio given the angler %.2f, down to %.2f: blood is not clearly worse", fair.value, low)
	}
	for _, g := range groups {
		if g.T > eight.T {
			t.Errorf("%s is fished more than figure-eights, which would not be the reference", g.Level[0].Word)
		}
	}
}
