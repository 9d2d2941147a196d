package main

import (
	"errors"
	"fmt"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
)

// counts is what happened in a stint, as a person counts it at its end. Nil is
// not noted.
type counts struct {
	hookups, foul, landed, lost      *int
	snags                            *int
	tangles, twists, windKnots, nest *int
	minutesLost, checks, turns       *int
	flyChanges, reties               *int
	cutMM                            *float64 // at each fly change
	broke, snagBroke                 []broken
}

// broken counts break-offs at a place; no place is one not noted.
type broken struct {
	place journal.BreakPlace
	n     int
}

func countFields() []field[stintDraft] {
	places := list(journal.BreakPlaces())
	return []field[stintDraft]{
		number("hookups", "`number` of fish hooked (default: those landed, lost and broken off)", func(d *stintDraft) **int { return &d.counts.hookups }),
		number("foul", "`number` of them hooked outside the mouth", func(d *stintDraft) **int { return &d.counts.foul }),
		number("landed", "`number` landed", func(d *stintDraft) **int { return &d.counts.landed }),
		number("lost", "`number` lost because the hook came out", func(d *stintDraft) **int { return &d.counts.lost }),
		{"broke-off", "`place=number` of fish broken off, or a number alone; places: " + places, func(d *stintDraft, v string, _ units.System) (err error) {
			d.counts.broke, err = parseBroken(v)
			return err
		}},
		number("snags", "`number` of snags", func(d *stintDraft) **int { return &d.counts.snags }),
		{"snag-broke", "`place=number` of snags that broke off, among them", func(d *stintDraft, v string, _ units.System) (err error) {
			d.counts.snagBroke, err = parseBroken(v)
			return err
		}},
		number("tangles", "`number` of tangles of all kinds", func(d *stintDraft) **int { return &d.counts.tangles }),
		number("twists", "`number` of them that wrapped the tag round the line", func(d *stintDraft) **int { return &d.counts.twists }),
		number("wind-knots", "`number` of them that were wind knots", func(d *stintDraft) **int { return &d.counts.windKnots }),
		number("nests", "`number` of them that were nests", func(d *stintDraft) **int { return &d.counts.nest }),
		number("minutes-lost", "`minutes` lost to all the tangles, or to the re-ties if there were none", func(d *stintDraft) **int { return &d.counts.minutesLost }),
		number("checks", "`number` of looks at the tag", func(d *stintDraft) **int { return &d.counts.checks }),
		number("turns", "`number` of turns round the line seen in all of them", func(d *stintDraft) **int { return &d.counts.turns }),
		number("fly-changes", "`number` of times the fly was changed", func(d *stintDraft) **int { return &d.counts.flyChanges }),
		quantity("cut", "`length` the tag lost at each change: 1 in, 20 mm", units.Length, func(d *stintDraft) **float64 { return &d.counts.cutMM }),
		number("re-ties", "`number` of times the junction was tied anew", func(d *stintDraft) **int { return &d.counts.reties }),
	}
}

// parseBroken reads "2", "junction=1" or "junction=1; fly knot=1".
func parseBroken(v string) ([]broken, error) {
	var all []broken
	for part := range strings.FieldsFuncSeq(v, func(r rune) bool { return r == ';' || r == ',' }) {
		place, number, ok := strings.Cut(part, "=")
		var b broken
		var err error
		if !ok {
			number = part
		} else if b.place, err = known("break place", strings.TrimSpace(place), journal.BreakPlaces()); err != nil {
			return nil, err
		}
		if b.n, err = whole(number); err != nil {
			return nil, err
		}
		all = append(all, b)
	}
	return all, nil
}

func sum(list []broken) int {
	n := 0
	for _, b := range list {
		n += b.n
	}
	return n
}

func or(n *int, otherwise int) int {
	if n == nil {
		return otherwise
	}
	return *n
}

// events turns counts into events, all on one position or, with nil, on the whole rig.
func (c counts) events(position *int) ([]journal.Event, error) {
	var all []journal.Event
	for _, part := range []func() ([]journal.Event, error){c.fish, c.snagged, c.tangled, c.checked, c.changed} {
		events, err := part()
		if err != nil {
			return nil, err
		}
		all = append(all, events...)
	}
	for i := range all {
		all[i].Position = position
	}
	return all, nil
}

// fish deals the hookups out to how they ended. Which of them were foul is not
// told, so that, as on import, foul ones are taken to be of those landed, then
// of unknown ending, lost and broken off.
func (c counts) fish() ([]journal.Event, error) {
	landed, lost, broke := or(c.landed, 0), or(c.lost, 0), sum(c.broke)
	ended := landed + lost + broke
	hookups := or(c.hookups, max(ended, or(c.foul, 0)))
	foul := or(c.foul, 0)
	if ended > hookups {
		return nil, fmt.Errorf("%d landed, %d lost and %d broken off make more than the %d hooked; correct one of them", landed, lost, broke, hookups)
	}
	if foul > hookups {
		return nil, fmt.Errorf("%d foul make more than the %d hooked; correct one of them", foul, hookups)
	}
	groups := []journal.Event{
		{Count: landed, Ending: journal.Landed},
		{Count: hookups - ended},
		{Count: lost, Ending: journal.Lost},
	}
	for _, b := range c.broke {
		groups = append(groups, journal.Event{Count: b.n, Ending: journal.BrokeOff, BreakPlace: b.place})
	}
	var events []journal.Event
	for _, g := range groups {
		g.Kind = journal.EventHookup
		outside := min(foul, g.Count)
		foul -= outside
		for _, part := range []struct {
			hooking journal.Hooking
			n       int
		}{{journal.Fair, g.Count - outside}, {journal.Foul, outside}} {
			if part.n > 0 {
				g.Hooking, g.Count = part.hooking, part.n
				events = append(events, g)
			}
		}
	}
	return events, nil
}

func (c counts) snagged() ([]journal.Event, error) {
	snags := or(c.snags, sum(c.snagBroke))
	if sum(c.snagBroke) > snags {
		return nil, fmt.Errorf("%d snags broke off, which is more than the %d snags; correct one of them", sum(c.snagBroke), snags)
	}
	var events []journal.Event
	for _, b := range c.snagBroke {
		if b.n > 0 {
			events = append(events, journal.Event{Kind: journal.EventSnag, Count: b.n, Ending: journal.BrokeOff, BreakPlace: b.place})
		}
	}
	if rest := snags - sum(c.snagBroke); rest > 0 {
		events = append(events, journal.Event{Kind: journal.EventSnag, Count: rest})
	}
	return events, nil
}

func (c counts) tangled() ([]journal.Event, error) {
	kinds := or(c.twists, 0) + or(c.windKnots, 0) + or(c.nest, 0)
	tangles := or(c.tangles, kinds)
	if kinds > tangles {
		return nil, fmt.Errorf("%d twists, %d wind knots and %d nests make more than the %d tangles; correct one of them",
			or(c.twists, 0), or(c.windKnots, 0), or(c.nest, 0), tangles)
	}
	if tangles == 0 && or(c.reties, 0) == 0 && or(c.minutesLost, 0) > 0 {
		return nil, fmt.Errorf("%d minutes were lost, but no tangle or re-tie is counted; add it", *c.minutesLost)
	}
	var events []journal.Event
	for _, k := range []struct {
		kind journal.TangleKind
		n    int
	}{{journal.Twist, or(c.twists, 0)}, {journal.WindKnot, or(c.windKnots, 0)}, {journal.Nest, or(c.nest, 0)}, {"", tangles - kinds}} {
		if k.n > 0 {
			events = append(events, journal.Event{Kind: journal.EventTangle, Count: k.n, TangleKind: k.kind})
		}
	}
	// The minutes are of all tangles together: the first bears them, and the
	// others none, so that none counts as a tangle of unknown minutes.
	for i := range events {
		if c.minutesLost != nil {
			minutes := 0
			if i == 0 {
				minutes = *c.minutesLost
			}
			events[i].MinutesLost = &minutes
		}
	}
	return events, nil
}

func (c counts) checked() ([]journal.Event, error) {
	switch {
	case c.checks == nil && c.turns == nil, c.checks != nil && *c.checks == 0 && or(c.turns, 0) == 0:
		return nil, nil
	case c.checks == nil || *c.checks == 0:
		return nil, fmt.Errorf("%d turns were seen, but no look at the tag is counted; add the checks", *c.turns)
	case c.turns == nil:
		return nil, fmt.Errorf("%d looks at the tag are counted, but not the turns seen; add the turns, 0 if there were none", *c.checks)
	}
	return []journal.Event{{Kind: journal.EventCheck, Count: *c.checks, Turns: c.turns}}, nil
}

func (c counts) changed() ([]journal.Event, error) {
	changes, reties := or(c.flyChanges, 0), or(c.reties, 0)
	if c.cutMM != nil && changes == 0 {
		return nil, errors.New("a cut is given, but no fly change is counted; add the fly changes")
	}
	var events []journal.Event
	if changes > 0 {
		events = append(events, journal.Event{Kind: journal.EventFlyChange, Count: changes, CutMM: c.cutMM})
	}
	if reties > 0 {
		retie := journal.Event{Kind: journal.EventRetie, Count: reties}
		if or(c.tangles, or(c.twists, 0)+or(c.windKnots, 0)+or(c.nest, 0)) == 0 {
			retie.MinutesLost = c.minutesLost
		}
		events = append(events, retie)
	}
	return events, nil
}
