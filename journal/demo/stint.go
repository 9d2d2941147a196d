package demo

import (
	"cmp"
	"maps"
	"slices"

	"rigtally/journal"
)

// What happens on average where every effect is 1; see the package comment.
const (
	baseTangles     = 0.40 // per hour and dropper
	baseTurns       = 1.5  // per check
	baseHookups     = 2.3  // per hour
	baseSnags       = 1.2  // per hour
	baseChecks      = 0.7  // per hour and dropper
	baseBreaks      = 0.018
	baseOtherBreaks = 0.03
	baseFouls       = 0.10
	baseLosses      = 0.17
)

// record gathers what happens in a stint with the minute at which it does.
type record struct {
	rig    tied
	hours  float64
	broke  map[int][]int // minutes at which the junction of a position broke
	events []moment
}

type moment struct {
	minute int
	event  journal.Event
}

func (r *record) add(minute int, e journal.Event) { r.events = append(r.events, moment{minute, e}) }

// stint fishes a rig for a while, and returns how its tags stand at the end.
func (o *outing) stint(rig tied, start tags) (journal.Stint, tags) {
	minutes := pick(o.dice, []share[int]{{45, 1}, {60, 3}, {75, 2}, {90, 4}, {105, 1}, {120, 4}, {150, 1}, {50, 0.5}, {80, 0.5}, {110, 0.5}})
	st := journal.Stint{RigID: rig.ID, Minutes: new(float64(minutes)), Stroke: pick(o.dice, strokes())}
	r := &record{rig: rig, hours: float64(minutes) / 60, broke: map[int][]int{}}
	o.hook(r, minutes)
	o.snag(r, minutes)
	for range o.poisson(0.3 * r.hours) {
		r.add(o.between(1, minutes), journal.Event{Kind: journal.EventFlyChange, Position: new(0), Count: 1})
	}
	end := maps.Clone(start)
	stroke := o.truth.of("tangles", "stroke", string(st.Stroke))
	for i, p := range rig.Positions {
		switch {
		case p.Hang == journal.HangTag:
			list := o.spells(p, start[p.Position], minutes, r.broke[p.Position])
			o.noteTags(&st, p, list)
			o.fishTag(r, p, rig.positions[i], list, stroke)
			end[p.Position] = list[len(list)-1].length
		case p.Position > 0:
			o.tangle(r, p, rig.positions[i].tangles*stroke, 0, minutes)
		}
	}
	st.Events = o.write(r, minutes)
	if o.chance(0.02) {
		st.Minutes = nil
		for i := range st.Events {
			st.Events[i].Minute = nil
		}
	} else if o.chance(0.25) {
		st.Casts = new(minutes * o.between(15, 35) / 10)
	}
	return st, end
}

func strokes() []share[journal.Stroke] {
	return []share[journal.Stroke]{{"oval", 0.4}, {"sidearm", 0.33}, {"overhead", 0.13}, {"roll", 0.07}, {"lob", 0.07}}
}

// fishTag lets a tag tangle and be looked at, at the length it has at the time.
func (o *outing) fishTag(r *record, p journal.RigPosition, odds odds, list []spell, stroke float64) {
	for _, s := range list {
		curve := tagCurve(s.length.mm())
		o.tangle(r, p, odds.tangles*stroke*curve, s.from, s.to)
		for range o.poisson(baseChecks * float64(s.to-s.from) / 60) {
			turns := o.poisson(baseTurns * odds.turns * curve * o.turning)
			r.add(o.between(s.from+1, s.to), journal.Event{Kind: journal.EventCheck, Position: o.mine(r, p), Count: 1, Turns: &turns})
		}
		if s.change != nil {
			s.change.Position = o.mine(r, p)
			r.add(s.to, *s.change)
		}
	}
}

// mine names a dropper, which a rig with just one can do without.
func (o *outing) mine(r *record, p journal.RigPosition) *int {
	if len(r.rig.Positions) == 2 && o.chance(0.5) {
		return nil
	}
	return new(p.Position)
}

func (o *outing) tangle(r *record, p journal.RigPosition, ratio float64, from, to int) {
	for range o.poisson(baseTangles * ratio * o.tangles * o.turning * float64(to-from) / 60) {
		e := journal.Event{Kind: journal.EventTangle, Position: o.mine(r, p), Count: 1}
		if len(r.rig.Positions) > 2 && o.chance(0.08) {
			e.Position = nil // nobody saw which
		}
		e.TangleKind = pick(o.dice, []share[journal.TangleKind]{{journal.Twist, 0.6}, {journal.WindKnot, 0.22}, {journal.Nest, 0.1}, {"", 0.08}})
		if o.lossKept {
			lost := o.between(1, 6)
			if e.TangleKind == journal.Nest {
				lost = o.between(5, 18)
			}
			e.MinutesLost = &lost
		}
		r.add(o.between(from+1, to), e)
	}
}

// write puts the events down in order, with or without the minutes, and in
// sums where the angler keeps those.
func (o *outing) write(r *record, minutes int) []journal.Event {
	slices.SortStableFunc(r.events, func(a, b moment) int { return cmp.Compare(a.minute, b.minute) })
	timed := !o.lumped && o.chance(0.6)
	events := make([]journal.Event, 0, len(r.events))
	sums := map[sum]int{}
	for _, m := range r.events {
		e := m.event
		if timed {
			e.Minute = new(min(m.minute, minutes))
		}
		if o.lumped && e.BreakPlace == "" && (e.Kind == journal.EventHookup || e.Kind == journal.EventSnag) {
			key := sumOf(e)
			if i, found := sums[key]; found {
				events[i].Count += e.Count
				continue
			}
			sums[key] = len(events)
		}
		events = append(events, e)
	}
	return events
}

// sum is what events must share to be written down as one.
type sum struct {
	kind     journal.EventKind
	position int // -1: none noted
	hooking  journal.Hooking
	ending   journal.Ending
}

func sumOf(e journal.Event) sum {
	position := -1
	if e.Position != nil {
		position = *e.Position
	}
	return sum{e.Kind, position, e.Hooking, e.Ending}
}
