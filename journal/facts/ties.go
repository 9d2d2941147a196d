package facts

import (
	"slices"

	"rigtally/journal"
)

// StintPlace finds a stint, or with a position a fly of it, by where it stands in its session.
type StintPlace struct {
	Session           journal.ID
	Ordinal, Position int // position is 0 for the stint itself
}

// tiedFly is a dropper on a tag in a stint, as a question about tags meets it.
type tiedFly struct {
	session, ordinal int // place of the session; of the stint in it, from 1
	row, fly         int32
	at               *journal.Setting // with the tag's length at the start of the stint
	spells           []factSpell
}

// eachTied walks through the droppers on a tag, stint by stint in the order of their sessions. What it
// hands out is good until it returns.
func (f *Facts) eachTied(tell func(tiedFly)) {
	var at journal.Setting
	for s := range f.sessions {
		if f.isGone(s) {
			continue
		}
		f.place(&at, s)
		spell := int(f.sessions[s].spell)
		from, to := f.stintsOf(s)
		for row := from; row < to; row++ {
			st := &f.stints[row]
			rig := &f.rigs[st.rig]
			at.Rig, at.Stroke = &rig.Rig, st.strokeWord()
			for k := range rig.Positions {
				t := tiedFly{session: s, ordinal: int(row-from) + 1, row: row, fly: st.fly + int32(k), at: &at}
				first := spell
				for spell < len(f.spells) && f.spells[spell].fly == t.fly {
					spell++
				}
				if p := &rig.Positions[k]; p.Position > 0 && p.Hang == journal.HangTag {
					at.Fly, at.TagMM = p, f.lengthOf(f.flies[t.fly])
					t.spells = f.spells[first:spell]
					tell(t)
				}
			}
		}
	}
}

// lengthOf is a length by its code, nil where it was not noted.
func (f *Facts) lengthOf(code int32) *float64 {
	if code == unknown {
		return nil
	}
	return &f.lengths[code]
}

// TieLives follows every tag, with the events of the stints in which ties ended and the lengths noted
// for the ends of stints.
func (f *Facts) TieLives(by journal.By, where []journal.Condition, events map[StintPlace][]journal.Event, ends map[StintPlace]float64) TieLives {
	walk := newTieWalk()
	for _, rig := range f.rigs {
		walk.rigs[rig.ID] = rig.Rig
	}
	conditions := newConditions(where)
	var stint []tiedStint
	f.eachTied(func(t tiedFly) {
		next := f.tiedStint(t, by, events, ends)
		next.counts = conditions.hold(t.at)
		if len(stint) > 0 && (stint[0].session != next.session || stint[0].ordinal != next.ordinal) {
			walk.stint(stint)
			stint = stint[:0]
		}
		stint = append(stint, next)
	})
	if len(stint) > 0 {
		walk.stint(stint)
	}
	walk.close()
	return walk.out
}

func (f *Facts) tiedStint(t tiedFly, by journal.By, events map[StintPlace][]journal.Event, ends map[StintPlace]float64) tiedStint {
	st := &f.stints[t.row]
	place := StintPlace{Session: f.sessions[t.session].id, Ordinal: t.ordinal}
	out := tiedStint{session: place.Session, rig: t.at.Rig.ID, ordinal: t.ordinal, position: t.at.Fly.Position, minutes: st.minutes(), recorded: st.recorded,
		start: t.at.TagMM, loads: f.ofFly.at(journal.CountLoads, t.fly), events: events[place],
		changed: f.ofStint.sum([]journal.Count{journal.CountReties, journal.CountBrokeJunction, journal.CountBrokeTag}, t.row) > 0}
	if out.start == nil {
		out.start = t.at.Fly.TagLengthMM
	}
	place.Position = out.position
	switch end, noted := ends[place]; {
	case noted:
		out.end = &end
	case len(t.spells) > 0:
		out.end = f.lengthOf(t.spells[len(t.spells)-1].length)
	case f.ofFly.sum([]journal.Count{journal.CountFlyChanges, journal.CountReties}, t.fly) == 0:
		out.end = out.start
	}
	word, number := by.Factor.Word(t.at), by.Factor.NumberIn(t.at)
	switch {
	case word != "":
		out.level = by.LevelOf(word, 0)
	case number != nil:
		out.level = by.LevelOf("", *number)
	default:
		out.missing = by.Factor.Missing
	}
	return out
}

// TagSession is what a session tells of tags that wear down and tangle: sums over its
// droppers on a tag. A stint's time counts once for each of those. An event on no fly in
// particular counts where the rig has one dropper only, and is left out elsewhere.
type TagSession struct {
	Session journal.ID

	// Over the stints whose minutes were noted, and of which count was kept of what wears a tag down.
	Hours   float64
	Changes float64 // fly changes
	Reties  float64
	Breaks  float64 // at the junction or in the tag
	Loads   float64

	// Over the events of which it was noted.
	Tangles, TangleMinutes float64 // tangles, and the minutes they cost
	Tied, TiedMinutes      float64 // re-ties, and the minutes they cost
	Cuts, CutMM            float64 // fly changes, and the tag they cost
}

// TagCost is what an event on a tag cost.
type TagCost struct {
	Position    *int
	Kind        journal.EventKind
	Count       int
	MinutesLost *int
	CutMM       *float64
}

// TagSessions adds up what the sessions tell of tags, in order of their ids. Conditions on
// the length of the tag are passed over: what a change or a tangle costs does not
// hang on it.
func (f *Facts) TagSessions(where []journal.Condition, costs map[StintPlace][]TagCost) []TagSession {
	conditions := newConditions(where).on(func(f journal.Factor) bool { return f.Scope() != journal.OfSpell })
	sums := map[int]*TagSession{}
	f.eachTied(func(t tiedFly) {
		if !conditions.hold(t.at) {
			return
		}
		sum := sums[t.session]
		if sum == nil {
			sum = &TagSession{Session: f.sessions[t.session].id}
		}
		told := false
		st := &f.stints[t.row]
		if st.seconds != unknown && st.recorded.Has(journal.KindChanges, journal.KindBreakPlace, journal.KindHookups, journal.KindSnags) {
			told = true
			sum.Hours += st.hours()
			sum.Changes += f.ofFly.at(journal.CountFlyChanges, t.fly)
			sum.Reties += f.ofFly.at(journal.CountReties, t.fly)
			sum.Breaks += f.ofFly.sum([]journal.Count{journal.CountBrokeJunction, journal.CountBrokeTag}, t.fly)
			sum.Loads += f.ofFly.at(journal.CountLoads, t.fly)
		}
		alone := len(t.at.Rig.Droppers()) == 1
		for _, c := range costs[StintPlace{Session: sum.Session, Ordinal: t.ordinal}] {
			if c.Position == nil && alone || c.Position != nil && *c.Position == t.at.Fly.Position {
				told = true
				sum.cost(c)
			}
		}
		if told {
			sums[t.session] = sum
		}
	})
	list := make([]TagSession, 0, len(sums))
	for _, sum := range sums {
		list = append(list, *sum)
	}
	slices.SortFunc(list, func(a, b TagSession) int { return slices.Compare(a.Session[:], b.Session[:]) })
	return list
}

func (s *TagSession) cost(c TagCost) {
	n, minutes := float64(c.Count), 0.0
	if c.MinutesLost != nil {
		minutes = float64(*c.MinutesLost)
	}
	switch c.Kind {
	case journal.EventTangle:
		s.Tangles, s.TangleMinutes = s.Tangles+n, s.TangleMinutes+minutes
	case journal.EventRetie:
		s.Tied, s.TiedMinutes = s.Tied+n, s.TiedMinutes+minutes
	case journal.EventFlyChange:
		s.Cuts, s.CutMM = s.Cuts+n, s.CutMM+n**c.CutMM
	}
}
