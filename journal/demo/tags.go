package demo

import (
	"slices"

	"rigtally/journal"
)

// shortest is the shortest tag that still takes a fly change (common practice: about 100 mm).
const shortest quarter = 14

// tags holds the length of each tag by position; positions in line have none.
type tags map[int]quarter

// tie ties a rig afresh. Half the tags are made longer or shorter than the rig
// has them, so that the lengths fished hang little on which rig it is.
func (o *outing) tie(rig tied) tags {
	t := tags{}
	for _, p := range rig.Positions {
		if p.TagLengthMM == nil {
			continue
		}
		length := asTied(p)
		if o.chance(0.5) {
			length = quarter(o.between(int(shortest)+2, 36))
		}
		t[p.Position] = length
	}
	return t
}

func asTied(p journal.RigPosition) quarter { return quarter(*p.TagLengthMM/25.4*4 + 0.5) }

// spell is a time through which a tag keeps its length; change is what ends it.
type spell struct {
	from, to int // minutes
	length   quarter
	change   *journal.Event // nil at the end of the stint
}

// spells follows one tag through a stint: re-ties at the given minutes, where
// the junction broke, and fly changes about every other hour that each cost a
// bit of tag, until it is too short and is tied anew.
func (o *outing) spells(p journal.RigPosition, length quarter, minutes int, broke []int) []spell {
	moments := slices.Clone(broke)
	for range o.poisson(0.5 * float64(minutes) / 60) {
		moments = append(moments, o.between(5, minutes-5))
	}
	slices.Sort(moments)
	var list []spell
	from := 0
	for _, at := range moments {
		if at <= from {
			continue
		}
		change := &journal.Event{Kind: journal.EventRetie, Count: 1}
		next := asTied(p)
		cut := quarter(o.between(1, 3))
		if !slices.Contains(broke, at) && length-cut >= shortest && (length > shortest+5 || o.chance(0.4)) {
			next = length - cut
			change = &journal.Event{Kind: journal.EventFlyChange, Count: 1, CutMM: new(cut.mm())}
		} else if o.lossKept {
			change.MinutesLost = new(o.between(3, 9))
		}
		list = append(list, spell{from, at, length, change})
		from, length = at, next
	}
	return append(list, spell{from, minutes, length, nil})
}

// noteTags writes down how the tags stood, where it is not as the rig was tied.
// Now and then the cuts were not measured, but the tag at the end was.
func (o *outing) noteTags(st *journal.Stint, p journal.RigPosition, list []spell) {
	note := journal.StintPosition{Position: p.Position}
	if list[0].length != asTied(p) {
		note.TagStartMM = new(list[0].length.mm())
	}
	cutsOnly := len(list) > 1 && !slices.ContainsFunc(list, func(s spell) bool { return s.change != nil && s.change.Kind == journal.EventRetie })
	switch {
	case cutsOnly && o.chance(0.12):
		for _, s := range list[:len(list)-1] {
			s.change.CutMM = nil
		}
		if o.chance(0.75) {
			note.TagEndMM = new(list[len(list)-1].length.mm())
		}
	case cutsOnly && o.chance(0.2):
		note.TagEndMM = new(list[len(list)-1].length.mm())
	}
	if o.chance(0.15) {
		note.Fly = pattern(o.dice, p.Bulk)
	}
	if note != (journal.StintPosition{Position: p.Position}) {
		st.Positions = append(st.Positions, note)
	}
}
