package logging

import (
	"fmt"
	"slices"
	"strconv"

	"rigtally/journal"
)

// readStint reads one stint, with the events that it had before the edit.
func (f *entry) readStint(i int, k known, was journal.Session) journal.Stint {
	name := func(field string) string { return stintName(i, field) }
	st := journal.Stint{Minutes: f.Fished(name("minutes")), Casts: f.Whole(name("casts"), 100000),
		Stroke: journal.Stroke(f.Text(name("stroke"))), Notes: f.Text(name("notes"))}
	if id := f.ID(name("id")); id != nil {
		st.ID = *id
	}
	var old journal.Stint
	if j := slices.IndexFunc(was.Stints, func(s journal.Stint) bool { return s.ID == st.ID }); j >= 0 {
		old = was.Stints[j]
	}
	rigID := f.ID(name("rig"))
	rig, ok := k.rig(orZero(rigID))
	switch {
	case rigID == nil && f.Wrong(name("rig")) == "":
		f.Fault(name("rig"), fmt.Sprintf("choose the rig of stint %d", i+1))
	case rigID != nil && !ok:
		f.Fault(name("rig"), fmt.Sprintf("the rig of stint %d is not in this journal; choose one from the list", i+1))
	}
	st.RigID = rig.ID
	said, tags := map[int]amounts{}, map[int]tagNoted{}
	for _, place := range f.placesAt(i) {
		if place != wholeRig {
			p, noted := f.readPosition(i, place, rig, old)
			tags[place] = noted
			if p != (journal.StintPosition{Position: place}) {
				st.Positions = append(st.Positions, p)
			}
		}
		if f.Values.Has(name(placeName(place) + "landed")) {
			said[place] = f.readAmounts(i, place)
		}
	}
	if d := rig.Droppers(); len(d) == 1 {
		tags[wholeRig] = tags[d[0].Position] // what happens to its tag may stand with the whole rig
	}
	events := func(fair journal.Hooking) []journal.Event {
		return f.readNoted(i, old.Events, merge(markNoted(old.Events), f.dropped(i, len(old.Events)), said, tags, fair))
	}
	st.Events = events(journal.Fair)
	st.Recorded = f.recorded(i, st.Events, old, k)
	switch {
	case !st.Recorded.Has(journal.KindHooking):
		st.Events = events("")
	case !old.Recorded.Has(journal.KindHooking):
		tellHooking(st.Events)
	}
	return st
}

// placesAt lists the places of a stint that the form has fields for.
func (f *entry) placesAt(i int) []int {
	list := []int{wholeRig}
	for place := range 10 {
		for _, field := range []string{"landed", "start", "end", "fly"} {
			if f.Values.Has(stintName(i, placeName(place)+field)) {
				list = append(list, place)
				break
			}
		}
	}
	return list
}

func (f *entry) readPosition(i, place int, rig journal.Rig, old journal.Stint) (journal.StintPosition, tagNoted) {
	name := func(field string) string { return stintName(i, placeName(place)+field) }
	p := journal.StintPosition{Position: place, TagStartMM: f.ShortLength(name("start")), TagEndMM: f.ShortLength(name("end")), Fly: f.Text(name("fly"))}
	var before journal.StintPosition
	for _, q := range old.Positions {
		if q.Position == place {
			before = q
		}
	}
	on, _ := rig.At(place)
	noted := tagNoted{tied: on.TagLengthMM, start: p.TagStartMM, end: p.TagEndMM}
	noted.changed = !same(p.TagStartMM, before.TagStartMM) || !same(p.TagEndMM, before.TagEndMM)
	return p, noted
}

// readAmounts reads the counters of one place, and what goes with them.
func (f *entry) readAmounts(i, place int) amounts {
	name := func(field string) string { return stintName(i, placeName(place)+field) }
	a := amounts{n: map[string]int{}, cutMM: f.ShortLength(name("cut")), minutesLost: f.Duration(name("minutes-lost")), retieMinutes: f.Duration(name("re-tie-minutes"))}
	for _, c := range cells() {
		if n := f.Count(name(c.key)); n > 0 {
			a.n[c.key] = n
		}
	}
	a.turns = f.Count(name("turns"))
	if a.n[keyCheck] > 0 && f.Text(name("turns")) == "" {
		f.Fault(name("turns"), "checks were counted but not the turns seen at them; write how many in all, 0 if there were none")
	}
	if a.turns > 0 && a.n[keyCheck] == 0 {
		f.Fault(name("turns"), "turns were counted but no check; count the checks too")
	}
	if a.cutMM != nil && a.n[keyFlyChange] == 0 {
		f.Fault(name("cut"), "a cut is noted but no fly change; count the fly changes too")
	}
	if a.minutesLost != nil && *a.minutesLost > 0 && a.total(tangleKeys()...) == 0 {
		f.Fault(name("minutes-lost"), "minutes were lost but no tangle is counted; count the tangles too")
	}
	if a.retieMinutes != nil && *a.retieMinutes > 0 && a.n[keyRetie] == 0 {
		f.Fault(name("re-tie-minutes"), "minutes went on re-ties but none is counted; count the re-ties too")
	}
	return a
}

// dropped tells which of the noted events are to be taken out.
func (f *entry) dropped(i, n int) map[int]bool {
	drop := map[int]bool{}
	for j := range n {
		if f.Checked(stintName(i, "drop."+strconv.Itoa(j))) {
			drop[j] = true
		}
	}
	return drop
}
