package demo

import "rigtally/journal"

// hook lets fish take, and each end as it will.
func (o *outing) hook(r *record, minutes int) {
	for range o.poisson(baseHookups * o.hookups * r.hours) {
		minute, at := o.between(1, minutes), o.flyTaken(r)
		odds := r.rig.positions[at]
		e := journal.Event{Kind: journal.EventHookup, Count: 1, Hooking: journal.Fair, Ending: journal.Landed, Position: o.noted(at)}
		if o.chance(baseFouls * odds.fouls) {
			e.Hooking = journal.Foul
		}
		lost := baseLosses * odds.losses * o.losses
		if e.Hooking == journal.Foul {
			lost = 0.4
		}
		switch {
		case o.breaks(r, at, minute):
			e.Ending, e.BreakPlace = journal.BrokeOff, o.junctionPlace()
		case o.chance(baseOtherBreaks * odds.otherBreaks):
			e.Ending, e.BreakPlace = journal.BrokeOff, o.otherPlace()
		case o.chance(lost):
			e.Ending = journal.Lost
		}
		if e.Ending == journal.Landed && !o.lumped {
			e.Species = o.species[o.IntN(len(o.species))]
			if o.chance(0.5) {
				e.FishLengthMM = new(quarter(o.between(16, 38) * 2).mm())
			}
		}
		r.add(minute, e)
	}
}

// snag lets the rig catch on things.
func (o *outing) snag(r *record, minutes int) {
	for range o.poisson(baseSnags * o.snags * r.hours) {
		minute, at := o.between(1, minutes), o.flyTaken(r)
		e := journal.Event{Kind: journal.EventSnag, Count: 1, Ending: journal.Freed, Position: o.noted(at)}
		switch {
		case o.breaks(r, at, minute):
			e.Ending, e.BreakPlace = journal.BrokeOff, o.junctionPlace()
		case o.chance(0.12):
			e.Ending, e.BreakPlace = journal.BrokeOff, o.otherPlace()
		}
		r.add(minute, e)
	}
}

// flyTaken draws the position of the fly that was taken, or that caught.
func (o *outing) flyTaken(r *record) int {
	if o.chance(0.5) {
		return 0
	}
	return o.between(1, len(r.rig.Positions)-1)
}

func (o *outing) noted(position int) *int {
	if !o.placed {
		return nil
	}
	return &position
}

// breaks says whether a pull on the fly at a position breaks the junction that
// bears it: its own, or for the point fly the only one above it. With several
// above, the journal could not tell which broke, and none does.
func (o *outing) breaks(r *record, position, minute int) bool {
	if position == 0 && len(r.rig.Positions) == 2 {
		position = 1
	}
	if position == 0 || !o.chance(baseBreaks*r.rig.positions[position].breaks) {
		return false
	}
	r.broke[position] = append(r.broke[position], minute)
	return true
}

func (o *outing) junctionPlace() journal.BreakPlace {
	return pick(o.dice, []share[journal.BreakPlace]{{journal.BrokeJunction, 0.7}, {journal.BrokeTag, 0.3}})
}

func (o *outing) otherPlace() journal.BreakPlace {
	return pick(o.dice, []share[journal.BreakPlace]{{journal.BrokeFlyKnot, 0.45}, {journal.BrokePointTippet, 0.3}, {journal.BrokeMainTippet, 0.2}, {journal.BrokeAboveSighter, 0.05}})
}
