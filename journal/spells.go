package journal

import (
	"fmt"
	"math"
	"slices"
)

// tagChange is a moment of a stint at which a tag got another length.
type tagChange struct {
	minute *int     // nil when not noted
	cutMM  *float64 // nil when not noted
	retie  bool
}

// tagSpells follows a dropper's tag through a stint. It returns nothing when
// the tag kept its length, or when how it changed is not known. Time is shared
// by the minutes of the changes, or evenly when any of those is missing; an
// event of unknown moment is shared in the same proportion.
func tagSpells(rig Rig, st Stint, p RigPosition) ([]Spell, error) {
	changes := tagChanges(rig, st, p.Position)
	start, end := tagEnds(st, p)
	if len(changes) == 0 || start == nil || retiedSomewhere(rig, st) {
		return nil, nil
	}
	lengths, err := tagLengths(changes, *start, end, p)
	if err != nil || lengths == nil {
		return nil, err
	}
	moments := make([]Moment, len(changes))
	for i, c := range changes {
		moments[i].End = c.minute
	}
	shares, timed := TimeShares(moments, st.Minutes)
	spells := make([]Spell, len(lengths))
	for i, mm := range lengths {
		spells[i] = Spell{Position: p.Position, Ordinal: i, TagMM: mm, Share: shares[i]}
	}
	for _, e := range st.Events {
		counts, ok := e.Deal(rig)[p.Position]
		if !ok {
			continue
		}
		if timed && e.Minute != nil {
			spells[spellAt(changes, *e.Minute)].Counts.add(counts, 1)
			continue
		}
		for i := range spells {
			spells[i].Counts.add(counts, shares[i])
		}
	}
	return spells, nil
}

// tagEnds returns the tag's length at the start and the end of a stint, where known.
func tagEnds(st Stint, p RigPosition) (start, end *float64) {
	start = p.TagLengthMM
	for _, sp := range st.Positions {
		if sp.Position == p.Position {
			if sp.TagStartMM != nil {
				start = sp.TagStartMM
			}
			end = sp.TagEndMM
		}
	}
	return start, end
}

// retiedSomewhere reports whether a junction was re-tied without a note of
// which one, so that no tag's length is known from then on.
func retiedSomewhere(rig Rig, st Stint) bool {
	return len(rig.Droppers()) > 1 && slices.ContainsFunc(st.Events, func(e Event) bool { return e.Kind == EventRetie && e.Position == nil })
}

// tagChanges lists what was done to the tag of a position, one entry for each time.
func tagChanges(rig Rig, st Stint, position int) []tagChange {
	var changes []tagChange
	only := len(rig.Droppers()) == 1
	for _, e := range st.Events {
		mine := e.Position != nil && *e.Position == position || e.Position == nil && only
		if !mine {
			continue
		}
		for range e.Count {
			switch {
			case e.Kind == EventRetie:
				changes = append(changes, tagChange{minute: e.Minute, retie: true})
			case e.Kind == EventFlyChange && (e.CutMM == nil || *e.CutMM > 0):
				changes = append(changes, tagChange{minute: e.Minute, cutMM: e.CutMM})
			}
		}
	}
	return changes
}

// tagLengths returns the tag's length before and after each change. Cuts that
// were not noted are taken to be equal when the length at the end is known;
// otherwise nothing can be said, and it returns nil.
func tagLengths(changes []tagChange, start float64, end *float64, p RigPosition) ([]float64, error) {
	unknown, known := 0, 0.0
	base := start
	for _, c := range changes {
		switch {
		case c.retie && (p.TagLengthMM == nil || unknown > 0):
			return nil, nil
		case c.retie:
			base, known = *p.TagLengthMM, 0
		case c.cutMM == nil:
			unknown++
		default:
			known += *c.cutMM
		}
	}
	guess := 0.0
	if unknown > 0 {
		if end == nil {
			return nil, nil
		}
		guess = (base - known - *end) / float64(unknown)
		if guess < 0 {
			return nil, fmt.Errorf("the tag of %s ends at %g mm, longer than its cuts allow; correct the length at the end or the cuts", PositionTitle(p.Position), *end)
		}
	}
	lengths := []float64{start}
	length := start
	for _, c := range changes {
		switch {
		case c.retie:
			length = *p.TagLengthMM
		case c.cutMM == nil:
			length -= guess
		default:
			length -= *c.cutMM
		}
		length = math.Round(length*1000) / 1000
		if length <= 0 {
			return nil, fmt.Errorf("the cuts take more off the tag of %s than its %g mm; correct a cut, or note the re-tie", PositionTitle(p.Position), start)
		}
		lengths = append(lengths, length)
	}
	const slack = 5 // mm; nobody measures a tag on the water more finely
	if end != nil && math.Abs(length-*end) > slack {
		return nil, fmt.Errorf("the tag of %s comes to %g mm by its cuts, but %g mm is noted for the end; correct one of them", PositionTitle(p.Position), length, *end)
	}
	return lengths, nil
}

// Moment is where one part of a stint ends and the next begins, which may be later; nil when not noted.
type Moment struct{ End, Next *int }

// TimeShares returns the share of a stint's time before, between and after some
// moments, and whether it rests on noted minutes; otherwise all are alike.
func TimeShares(moments []Moment, minutes *float64) (shares []float64, timed bool) {
	shares = make([]float64, len(moments)+1)
	timed = minutes != nil && *minutes > 0
	last := 0.0
	for i, m := range moments {
		if timed = timed && m.End != nil && float64(*m.End) >= last && float64(*m.End) <= *minutes; !timed {
			break
		}
		shares[i] = (float64(*m.End) - last) / *minutes
		if last = float64(*m.End); m.Next != nil {
			last = min(max(last, float64(*m.Next)), *minutes)
		}
	}
	if !timed {
		for i := range shares {
			shares[i] = 1 / float64(len(shares))
		}
		return shares, false
	}
	shares[len(moments)] = (*minutes - last) / *minutes
	return shares, true
}

// spellAt returns the spell that holds a minute of a timed stint. A tangle in
// the minute of the change belongs to the length that it was cut from.
func spellAt(changes []tagChange, minute int) int {
	for i, c := range changes {
		if minute <= *c.minute {
			return i
		}
	}
	return len(changes)
}

// PositionTitle names a position in words: the point fly, dropper 1, …
func PositionTitle(position int) string {
	if position == 0 {
		return "the point fly"
	}
	return fmt.Sprintf("dropper %d", position)
}

// LastTag is how long a tag was when its rig was last put away.
type LastTag struct {
	Position int
	LengthMM float64
	Day      Date
}

func LastTags(rig Rig, st Stint, day Date) []LastTag {
	var list []LastTag
	for _, p := range rig.Droppers() {
		if p.Hang != HangTag {
			continue
		}
		if mm := lastLength(rig, st, p); mm != nil {
			list = append(list, LastTag{p.Position, *mm, day})
		}
	}
	return list
}

// lastLength is a tag's length at the end of a stint: as noted, as its cuts
// leave it, or as it began where nothing was done to it; nil when that is not known.
func lastLength(rig Rig, st Stint, p RigPosition) *float64 {
	start, end := tagEnds(st, p)
	if end != nil {
		return end
	}
	spells, err := tagSpells(rig, st, p)
	switch {
	case err == nil && len(spells) > 0:
		return &spells[len(spells)-1].TagMM
	case len(tagChanges(rig, st, p.Position)) == 0 && !retiedSomewhere(rig, st):
		return start
	}
	return nil
}
