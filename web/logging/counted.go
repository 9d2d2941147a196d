package logging

import (
	"slices"

	"rigtally/internal/units"
	"rigtally/journal"
)

// blanks is how the form's blanks are read. kindFields says which fields are a group.
const blanks = "Leave blank what you did not count; write 0 for none. A number in one field, such as twists, means all of its kind was counted: a blank beside it then means none."

// kinds are the kinds of count that a number in the cell tells of.
func (c cell) kinds() []journal.Kind {
	var list []journal.Kind
	switch e := c.event; e.Kind {
	case journal.EventHookup:
		switch e.Ending {
		case journal.Landed:
			list = append(list, journal.KindLanded)
		case journal.Lost:
			list = append(list, journal.KindLost)
		case journal.BrokeOff:
			list = append(list, journal.KindBrokeOff)
		}
		if e.Hooking == journal.Foul {
			list = append(list, journal.KindHooking)
		}
		if len(list) == 0 {
			list = append(list, journal.KindHookups)
		}
	case journal.EventSnag:
		list = append(list, journal.KindSnags)
	case journal.EventTangle:
		list = append(list, journal.KindTangles)
		if e.TangleKind != "" {
			list = append(list, journal.KindTangleKind)
		}
	case journal.EventCheck:
		list = append(list, journal.KindTurns)
	case journal.EventFlyChange, journal.EventRetie:
		list = append(list, journal.KindChanges)
	}
	if c.event.BreakPlace != "" {
		list = append(list, journal.KindBreakPlace)
	}
	return list
}

// kindFields lists the fields of a place that tell of each kind.
func kindFields() map[journal.Kind][]string {
	fields := map[journal.Kind][]string{journal.KindMinutesLost: {"minutes-lost", "re-tie-minutes"}}
	for _, c := range cells() {
		for _, k := range c.kinds() {
			fields[k] = append(fields[k], c.key)
		}
	}
	return fields
}

// rests lists the kinds that can't be told without the count of another.
func rests(on journal.Kind) []journal.Kind {
	switch on {
	case journal.KindTangles:
		return []journal.Kind{journal.KindTangleKind, journal.KindMinutesLost}
	case journal.KindBrokeOff:
		return []journal.Kind{journal.KindBreakPlace}
	}
	return nil
}

// written is the set of kinds of which a stint's fields hold a number, at any
// place on the rig. Fish hooked are told also by all the ways in which they end.
func (f *entry) written(i int) journal.Recorded {
	r := journal.RecordedOf()
	for k, fields := range kindFields() {
		if slices.ContainsFunc(f.placesAt(i), func(place int) bool {
			return slices.ContainsFunc(fields, func(key string) bool { return !units.IsBlank(f.Text(stintName(i, placeName(place)+key))) })
		}) {
			r = r.With(k)
		}
	}
	if r.Has(journal.KindLanded, journal.KindLost, journal.KindBrokeOff) {
		r = r.With(journal.KindHookups)
	}
	for _, on := range journal.Kinds() {
		if !r.Has(on) {
			r = r.Without(rests(on)...)
		}
	}
	return r
}

// implied is the set of details that are told because there is nothing that they
// could be told of, going by the kinds that are written.
func implied(written journal.Recorded, events []journal.Event) journal.Recorded {
	var hookups, tangles, unkind, unplaced int
	for _, e := range events {
		switch {
		case e.Kind == journal.EventHookup:
			hookups += e.Count
		case e.Kind == journal.EventTangle:
			tangles += e.Count
			if e.TangleKind == "" {
				unkind += e.Count
			}
		}
		if e.Ending == journal.BrokeOff && e.BreakPlace == "" {
			unplaced += e.Count
		}
	}
	r := journal.RecordedOf()
	for _, x := range []struct {
		detail, of journal.Kind
		open       int
	}{
		{journal.KindHooking, journal.KindHookups, hookups}, {journal.KindBreakPlace, journal.KindBrokeOff, unplaced},
		{journal.KindTangleKind, journal.KindTangles, unkind}, {journal.KindMinutesLost, journal.KindTangles, tangles},
	} {
		if written.Has(x.of) && x.open == 0 {
			r = r.With(x.detail)
		}
	}
	return r
}

// recorded says of what count was kept in a stint. A new stint goes by what is
// written. One that is edited keeps what it had, assumed or said, but for kinds whose
// fields were filled or cleared, and for those whose tick was changed.
func (f *entry) recorded(i int, events []journal.Event, old journal.Stint, k known) journal.Recorded {
	now := f.written(i)
	r := now.With(implied(now, events).Kinds()...)
	if old.ID.IsZero() {
		return r
	}
	shown := newEntry(f.Units)
	shown.fillStint(0, old, k)
	before := shown.written(0)
	byItself := implied(before, old.Events)
	after := old.Recorded
	for _, kind := range journal.Kinds() {
		switch {
		case before.Has(kind) && !r.Has(kind):
			after = after.Without(kind).Without(rests(kind)...)
		case !after.Has(kind) && !before.Has(kind) && !byItself.Has(kind) && r.Has(kind):
			after = after.With(kind)
		}
	}
	for _, kind := range journal.Kinds() {
		tick := keptName(i, kind)
		switch kept := f.Checked(tick); {
		case !f.Values.Has(keptAsked(i)) || kept == old.Recorded.Has(kind):
		case kept && !after.Has(kind):
			after = after.With(kind)
		case !kept:
			after = after.Without(kind)
		}
	}
	return after
}

// keptName is the tick that count was kept of a kind, and keptAsked says that a
// stint has such ticks, since one that is off is not sent.
func keptName(i int, k journal.Kind) string { return stintName(i, "kept."+k.String()) }

func keptAsked(i int) string { return stintName(i, "kept") }

// fillRecorded ticks what count was kept of, and writes 0 where it was and nothing
// happened.
func (f *entry) fillRecorded(i int, st journal.Stint) {
	f.Set(keptAsked(i), "asked")
	happened := map[journal.Kind]bool{} // that no counter shows
	for _, j := range noted(st.Events) {
		for _, k := range (cell{event: st.Events[j]}).kinds() {
			happened[k] = true
		}
	}
	r := st.Recorded
	for _, k := range r.Kinds() {
		f.Set(keptName(i, k), "yes")
		for _, key := range zeros(k, r) {
			name := stintName(i, placeName(wholeRig)+key)
			if f.Text(name) == "" && !happened[k] {
				f.Set(name, "0")
			}
		}
	}
}

// zeros are the fields that show that none of a kind was counted.
func zeros(k journal.Kind, r journal.Recorded) []string {
	switch k {
	case journal.KindHookups:
		if !r.Has(journal.KindLanded, journal.KindLost, journal.KindBrokeOff) {
			return []string{"hooked"}
		}
	case journal.KindLanded:
		return []string{"landed"}
	case journal.KindLost:
		return []string{"lost"}
	case journal.KindBrokeOff:
		return []string{keyBrokeOff}
	case journal.KindHooking:
		return []string{"foul"}
	case journal.KindSnags:
		return []string{"snag-freed"}
	case journal.KindTangles:
		if !r.Has(journal.KindTangleKind) {
			return []string{"tangle"}
		}
		return []string{"twist", "wind-knot", "nest"}
	case journal.KindTurns:
		return []string{keyCheck}
	case journal.KindChanges:
		return []string{keyFlyChange, keyRetie}
	}
	return nil
}

// tellHooking says of hookups that they were fair, once it was counted which were foul.
func tellHooking(events []journal.Event) {
	for i := range events {
		if e := &events[i]; e.Kind == journal.EventHookup && e.Hooking == "" {
			e.Hooking = journal.Fair
		}
	}
}
