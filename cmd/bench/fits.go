package main

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal/pg"
	"rigtally/prose"
)

// estimate is a ratio to the reference, or a rate on a curve.
type estimate struct {
	of      string
	log, se float64 // se of the log; NaN for a plain ratio, whose interval is of another kind than R's
}

// fit is a question that R is asked as well, in the marginal model that R's glm and vcovCL have.
type fit struct {
	key, title string
	ask        func(context.Context, *pg.Store) (answered, error)
	aims       []aim                                              // at 1,000,000 stints
	frailty    func(context.Context, *pg.Store) (answered, error) // the same in the model that answers rest on; nil for one that has none
	most       time.Duration                                      // of that, at 1,000,000 stints
}

// answered is what a question comes to, with what R needs to know to ask the same.
type answered struct {
	estimates []estimate
	curve     []string // knots, boundary and points
}

// aim is a time not to be exceeded, or how many times the speed of an alternative.
type aim struct {
	than  string // alternative; "" for a time
	times float64
	most  time.Duration
}

const (
	reference = "blood" // a junction
	smallAim  = 15 * time.Millisecond
	// smallFrailty is the aim of a fit with a multiplier for each session, at 5,000 stints.
	smallFrailty = 10 * time.Millisecond
)

var (
	byJunction = analytics.Request{Outcome: "tangles", By: []string{"junction"}, Versus: reference, Given: []string{analytics.NoGiven}, Model: string(analytics.Marginal), Units: units.Metric}
	overLength = analytics.CurveRequest{Outcome: "tangles", Given: []string{"junction", "bulk", "angler"}, Units: units.Metric}
)

func fits() []fit {
	corrected, over := byJunction, overLength
	corrected.Given, over.Model = []string{"tag-length:linear", "bulk", "angler"}, string(analytics.Marginal)
	shared := corrected
	shared.Model = string(analytics.Frailty)
	return []fit{
		{key: "plain", title: "(a) tangles by junction", ask: rates(byJunction, asFished), aims: []aim{{most: 50 * time.Millisecond}}},
		{"corrected", "(b) tangles by junction given " + strings.Join(corrected.Given, ", "), rates(corrected, alike), []aim{{than: "written", times: 10}, {than: "expert", times: 1}}, rates(shared, alike), 500 * time.Millisecond},
		{"curve", "(c) tangles over tag length given " + strings.Join(over.Given, ", "), curve(over), []aim{{than: "written", times: 10}, {than: "expert", times: 1}}, curve(overLength), time.Second},
	}
}

// asFished and alike are the two estimates of a group that R is asked for.
func asFished(g analytics.Group) (estimate, bool) {
	if g.Versus == nil {
		return estimate{}, false
	}
	return estimate{g.Level[0].Word, math.Log(*g.Versus.Ratio), math.NaN()}, true
}

func alike(g analytics.Group) (estimate, bool) {
	if g.Corrected == nil {
		return estimate{}, false
	}
	return estimate{g.Level[0].Word, math.Log(*g.Corrected.Ratio), *g.Corrected.SELog}, true
}

func rates(r analytics.Request, of func(analytics.Group) (estimate, bool)) func(context.Context, *pg.Store) (answered, error) {
	return func(ctx context.Context, store *pg.Store) (out answered, err error) {
		a, err := analytics.Rates(ctx, store, r)
		if err != nil {
			return out, err
		}
		_ = prose.SayRates(a, r.Units).Text(0) // to the printed answer
		for _, g := range a.Groups {
			if e, ok := of(g); ok {
				out.estimates = append(out.estimates, e)
			}
		}
		return out, nil
	}
}

func curve(r analytics.CurveRequest) func(context.Context, *pg.Store) (answered, error) {
	return func(ctx context.Context, store *pg.Store) (out answered, err error) {
		a, err := analytics.Curve(ctx, store, r)
		if err != nil {
			return out, err
		}
		_ = prose.SayCurve(a, r.Units).Text(0)
		var at []float64
		for _, p := range a.Points {
			at = append(at, p.At)
			out.estimates = append(out.estimates, estimate{joined(p.At), math.Log(p.Rate), p.SELog})
		}
		out.curve = []string{joined(a.Knots...), joined(a.Boundary...), joined(at...)}
		return out, nil
	}
}

func joined(list ...float64) string {
	texts := make([]string, len(list))
	for i, v := range list {
		texts[i] = strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strings.Join(texts, ",")
}

// fits times a plain question, a corrected one and a curve, from the facts in memory to
// the printed answer, against R on the same rows in its memory, and refuses to
// when they do not come to the same. The journals have 5,000 and 1,000,000 stints.
func (b *bench) fits(ctx context.Context) error {
	stints, err := b.invent(ctx, small, smallStints)
	if err != nil {
		return err
	}
	if err := b.fitsOf(ctx, small, stints, rounds{ours: 31, theirs: 15}); err != nil {
		return err
	}
	if stints, err = b.repeat(ctx); err != nil {
		return err
	}
	return b.fitsOf(ctx, large, stints, rounds{ours: 9, theirs: 3})
}

type rounds struct{ ours, theirs int }

func (b *bench) fitsOf(ctx context.Context, database string, stints int, n rounds) error {
	store, err := b.open(ctx, database)
	if err != nil {
		return err
	}
	defer store.Close()
	if err := b.facts(ctx, store, database, stints); err != nil {
		return err
	}
	var files map[string]string
	missing := lacksR()
	if missing == nil {
		if files, err = b.export(database); err != nil {
			return err
		}
	} else {
		fmt.Printf("\nNothing is compared with R: %v\n", missing)
	}
	for _, f := range fits() {
		ours, answer, err := f.time(ctx, store, n.ours)
		if err != nil {
			return fmt.Errorf("%s: %w", f.title, err)
		}
		fmt.Printf("\n%s, %d stints, from the facts in memory to the printed answer\n  rigtally  %s\n", f.title, stints, ours)
		var theirs *byR
		if missing == nil {
			if theirs, err = b.askR(f, files[f.key], answer, n.theirs); err != nil {
				return fmt.Errorf("%s: %w", f.title, err)
			}
			theirs.print(ours)
		}
		aims := f.aims
		if database == small {
			aims = []aim{{most: smallAim}}
		}
		for _, a := range aims {
			a.print(ours, theirs)
		}
		if f.frailty != nil {
			if err := f.beside(ctx, store, n.ours, ours, database == small); err != nil {
				return fmt.Errorf("%s, like for like: %w", f.title, err)
			}
		}
	}
	return nil
}

// beside times the model that answers rest on against the marginal one.
func (f fit) beside(ctx context.Context, store *pg.Store, n int, marginal timed, small bool) error {
	ours, _, err := fit{ask: f.frailty}.time(ctx, store, n)
	if err != nil {
		return err
	}
	most := f.most
	if small {
		most = smallFrailty
	}
	const times = 3
	ratio := float64(ours.median()) / float64(marginal.median())
	fmt.Printf("  with a multiplier for each session  %s, %.2f times the marginal fit's time\n", ours, ratio)
	fmt.Printf("  aims      at most %d times; %s; %s; %s\n", times, metOrMissed(ratio <= times), most, metOrMissed(ours.median() <= most))
	return nil
}

// time asks a number of times, and returns the last answer. The first time, which
// fills the caches, does not count: R has its rows in memory as well.
func (f fit) time(ctx context.Context, store *pg.Store, n int) (ours timed, answer answered, err error) {
	times, err := inTurn(1, n, func() (err error) { answer, err = f.ask(ctx, store); return err })
	if err != nil {
		return nil, answer, err
	}
	return times[0], answer, nil
}

// print says what was aimed at and what came of it.
func (a aim) print(ours timed, r *byR) {
	switch {
	case a.than == "":
		fmt.Printf("  aim       %s; result %s, %s\n", a.most, round(ours.median()), metOrMissed(ours.median() <= a.most))
	case r != nil:
		times, reading := r.speedup(ours, a.than)
		fmt.Printf("  aim       %g times the speed of R %s; result %.2f with its rows in memory, %s; %.2f with its reading them, %s\n",
			a.times, alternatives[a.than], times, metOrMissed(times >= a.times), reading, metOrMissed(reading >= a.times))
	}
}
