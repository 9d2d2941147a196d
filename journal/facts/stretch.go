package facts

import (
	"math"
	"slices"

	"rigtally/journal"
)

// Stretch is a stint through which a factor kept its level, or the part of one up to or from a cut of the tag.
type Stretch struct {
	Minutes float64   // NaN when not noted
	Counted bool      // count was kept of the outcome
	Events  float64   // of it, on the whole rig; parts where moments were not noted
	At      []float64 // minutes from the stretch's beginning at which they happened, ascending
	Timed   bool      // Minutes and the moments of all Events are known
	End     End
}

// End says what came of the factor's level at the end of a stretch.
type End int

// The ends of a stretch.
const (
	SessionOver End = iota
	LevelKept       // into the next stretch of the session
	LevelChanged
	LevelUntold // it was not noted before, or not after
)

// leastCut is the least difference between two lengths of a tag that is a change, in mm; nobody
// measures a tag on the water more finely.
const leastCut = 5

// Stretches tells of each session its stretches in order. They are good until tell returns.
//
// A fly's factor has changed where a fly in the same place of the next rig has another value; events count for the
// whole rig, since whatever happened to it may be why it was changed.
func (f *Facts) Stretches(o journal.Outcome, factor journal.Factor, tell func([]Stretch)) {
	w := stretchWalk{Facts: f, events: o.Terms().Events, needs: o.Needs, factor: factor}
	if o.Measure == journal.AmountPer { // of minutes lost, the events are what cost them
		w.events = []journal.Count{journal.CountTangles}
	}
	w.bits = bitsOf(func(c journal.Count) bool { return slices.Contains(w.events, c) })
	w.codeLevels()
	for s := range f.sessions {
		from, to := f.stintsOf(s)
		if f.isGone(s) || from == to {
			continue
		}
		w.spell, w.moments = int(f.sessions[s].spell), f.momentsOf(s)
		w.list, w.at = w.list[:0], w.at[:0]
		for row := from; row < to; row++ {
			w.stint(row, int(row-from)+1)
			end := SessionOver
			if row+1 < to {
				end = w.between(row, row+1)
			}
			w.list[len(w.list)-1].End = end
		}
		tell(w.list)
	}
}

// stretchWalk goes through the stints of a journal in order.
type stretchWalk struct {
	*Facts
	factor  journal.Factor
	events  []journal.Count
	needs   []journal.Kind
	bits    moment
	levels  [][]int32 // of the factor, by rig: of the whole, or of each of its positions; unknown where not noted
	moments []moment  // of the session, that are not passed
	spell   int       // the first one not passed
	list    []Stretch
	at      []float64 // of all stretches in list
	lengths []float64 // tags' lengths at the end of the stint, by place of the rig's position; NaN when not known
	cuts    []float64 // shares of the stint up to each cut
	shares  []float64 // of the stint, that a tag had each length
	loose   bool      // a tag may have been cut in it, at a moment not known
}

// codeLevels codes what each rig has of the factor, where it is noted of rigs or flies.
func (w *stretchWalk) codeLevels() {
	scope := w.factor.Scope()
	if scope != journal.OfRig && scope != journal.OfFly {
		return
	}
	by := journal.By{Factor: w.factor}
	q := journal.Question{By: []journal.By{by}}
	code := coder{by: by, words: map[string]int32{}, numbers: map[float64]int32{}}
	w.levels = make([][]int32, len(w.rigs))
	for i := range w.rigs {
		rig := &w.rigs[i].Rig
		s := journal.Setting{Rig: rig}
		if scope == journal.OfRig {
			w.levels[i] = []int32{code.code(&s)}
			continue
		}
		w.levels[i] = make([]int32, len(rig.Positions))
		for k := range rig.Positions {
			s.Fly = &rig.Positions[k]
			w.levels[i][k] = unknown
			if (!q.OfDroppers() || s.Fly.Position > 0) && (!q.OfTags() || s.Fly.Hang == journal.HangTag) {
				w.levels[i][k] = code.code(&s)
			}
		}
	}
}

// stint adds the stretches of a stint, by its row and its number in the session.
func (w *stretchWalk) stint(row int32, number int) {
	st := &w.stints[row]
	last, timed := 0, 0
	for ; last < len(w.moments) && w.moments[last].stint() == number; last++ {
		if w.moments[last].of(w.bits) {
			timed += w.moments[last].times()
		}
	}
	moments := w.moments[:last]
	w.moments = w.moments[last:]
	out := Stretch{Minutes: math.NaN(), Counted: st.recorded.Has(w.needs...), Events: w.ofStint.sum(w.events, row)}
	if st.seconds != unknown {
		out.Minutes = float64(st.seconds) / 60
		out.Timed = float64(timed) == out.Events
	}
	w.cuts = w.cuts[:0]
	if w.factor.Scope() == journal.OfSpell {
		out.Timed = w.tags(row, out.Minutes) && out.Timed
	}
	const near = 1e-6
	from := 0.0
	for _, to := range append(w.cuts, 1) {
		part := out
		part.Minutes, part.End = (to-from)*out.Minutes, LevelChanged
		if !out.Timed {
			part.Events *= to - from
		} else {
			part.Events = 0
			begin := len(w.at)
			for _, m := range moments {
				at := float64(m.minute()) - from*out.Minutes
				// What happened in the minute of a cut belongs to the length that it was cut from.
				if !m.of(w.bits) || (from > 0 && at <= near) || (to < 1 && at > part.Minutes+near) {
					continue
				}
				part.Events += float64(m.times())
				w.at = append(w.at, at)
			}
			part.At = w.at[begin:]
		}
		w.list = append(w.list, part)
		from = to
	}
}

// tags notes at which shares of a stint its tags were cut, and how long they were at its end. It reports whether
// the minutes of the cuts are known.
func (w *stretchWalk) tags(row int32, minutes float64) (noted bool) {
	st := &w.stints[row]
	rig := &w.rigs[st.rig]
	w.lengths, w.loose, noted = w.lengths[:0], false, true
	for k := range rig.Positions {
		fly := st.fly + int32(k)
		mm, share := w.startOf(row, k), 0.0
		first, cuts := w.spell, len(w.cuts)
		w.shares = w.shares[:0]
		for ; w.spell < len(w.spells) && w.spells[w.spell].fly == fly; w.spell++ {
			now := w.Facts.lengths[w.spells[w.spell].length]
			if w.spell > first && math.Abs(now-mm) >= leastCut {
				w.cuts = append(w.cuts, share)
			}
			w.shares = append(w.shares, w.values[w.Facts.shares[w.spell]])
			mm, share = now, share+w.shares[len(w.shares)-1]
		}
		noted = noted && (len(w.cuts) == cuts || notedCuts(w.shares, minutes))
		if w.spell == first && w.ofFly.sum([]journal.Count{journal.CountFlyChanges, journal.CountReties}, fly) > 0 {
			w.loose = true
		}
		w.lengths = append(w.lengths, mm)
	}
	slices.Sort(w.cuts)
	w.cuts = slices.Compact(w.cuts)
	w.cuts = slices.DeleteFunc(w.cuts, func(share float64) bool { return share <= 0 || share >= 1 })
	return noted
}

// startOf is how long the tag in a place of the rig was when the stint began, NaN when not known, or no tag.
func (w *stretchWalk) startOf(row int32, k int) float64 {
	st := &w.stints[row]
	rig := &w.rigs[st.rig]
	if p := &rig.Positions[k]; p.Position == 0 || p.Hang != journal.HangTag {
		return math.NaN()
	}
	code := w.flies[st.fly+int32(k)]
	if code == unknown {
		code = rig.tied[k]
	}
	if code == unknown {
		return math.NaN()
	}
	return w.Facts.lengths[code]
}

// between says what came of the level from one stint to the next.
func (w *stretchWalk) between(row, next int32) End {
	a, b := &w.stints[row], &w.stints[next]
	switch w.factor.Scope() {
	case journal.OfSession:
		return LevelKept
	case journal.OfStint:
		return compare(int32(a.stroke)-1, int32(b.stroke)-1)
	case journal.OfRig:
		return compare(w.levels[a.rig][0], w.levels[b.rig][0])
	}
	end := LevelUntold
	for k := range w.rigs[a.rig].Positions {
		for l := range w.rigs[b.rig].Positions {
			if w.rigs[a.rig].Positions[k].Position != w.rigs[b.rig].Positions[l].Position {
				continue
			}
			switch w.fly(row, next, k, l) {
			case LevelChanged:
				if w.factor.Scope() == journal.OfSpell && w.loose { // it may have been cut at any moment of the stint
					w.list[len(w.list)-1].Timed = false
				}
				return LevelChanged
			case LevelKept:
				end = LevelKept
			}
		}
	}
	return end
}

// fly says what came of the level of one fly, from its place in one rig to that in the next.
func (w *stretchWalk) fly(row, next int32, k, l int) End {
	if w.factor.Scope() == journal.OfFly {
		return compare(w.levels[w.stints[row].rig][k], w.levels[w.stints[next].rig][l])
	}
	before, after := w.lengths[k], w.startOf(next, l)
	switch {
	case before != before || after != after:
		return LevelUntold
	case math.Abs(after-before) >= leastCut:
		return LevelChanged
	}
	return LevelKept
}

// compare says what came of a level between two codes.
func compare(before, after int32) End {
	switch {
	case before == unknown || after == unknown:
		return LevelUntold
	case before != after:
		return LevelChanged
	}
	return LevelKept
}
