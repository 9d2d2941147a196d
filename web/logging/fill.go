package logging

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
)

// fillSession writes a stored session into the form, so that reading the form
// again gives the same session.
func (f *entry) fillSession(s journal.Session, k known) {
	f.Set("id", s.ID.String())
	f.Set("version", strconv.Itoa(s.Version))
	f.Set("angler", s.AnglerID.String())
	f.Set("water", s.WaterID.String())
	if s.GuideID != nil {
		f.Set("guide", s.GuideID.String())
	}
	w, _ := k.water(s.WaterID)
	f.Set("beat", beatOf(w, s))
	f.Set("day", s.Day.String())
	f.fillTimes(s)
	form.Fill(f.Form, journal.SessionFields(), &s, form.Own)
	for i, st := range s.Stints {
		f.fillStint(i, st, k)
	}
}

func (f *entry) fillTimes(s journal.Session) {
	loc, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		return // shown without times; saving says what is wrong with the zone
	}
	clock := func(t time.Time) string { return t.In(loc).Format("15:04") }
	f.Set("start", form.Shown(s.Start, clock))
	f.Set("end", form.Shown(s.End, clock))
	if s.End != nil && journal.DateOf(s.End.In(loc)) != s.Day {
		f.Set("next-day", "yes")
	}
}

func (f *entry) fillStint(i int, st journal.Stint, k known) {
	name := func(field string) string { return stintName(i, field) }
	f.Set(name("id"), st.ID.String())
	f.Set(name("rig"), st.RigID.String())
	form.Fill(f.Form, journal.StintFields(), &st, name)
	for _, p := range st.Positions {
		at := placeName(p.Position)
		form.Fill(f.Form, journal.TagFields(), &p, func(field string) string { return name(at + field) })
	}
	f.fillNoted(i, st.Events)
	rig, _ := k.rig(st.RigID)
	for _, place := range stintPlaces(rig, st.Events) {
		f.fillAmounts(i, place, amountsAt(st.Events, place))
	}
	f.fillRecorded(i, st)
}

// stintPlaces lists the places that a stint has counters for: those of its rig
// and those where something happened.
func stintPlaces(rig journal.Rig, events []journal.Event) []int {
	list := places(events)
	for _, p := range rig.Positions {
		if !slices.Contains(list, p.Position) {
			list = append(list, p.Position)
		}
	}
	slices.Sort(list)
	return list
}

func (f *entry) fillAmounts(i, place int, a amounts) {
	name := func(field string) string { return stintName(i, placeName(place)+field) }
	for _, c := range cells() {
		f.Set(name(c.key), positive(a.n[c.key]))
	}
	if a.n[keyCheck] > 0 {
		f.Set(name("turns"), strconv.Itoa(a.turns))
	}
	f.Set(name("cut"), form.Shown(a.cutMM, form.In(units.ExactLength, f.Units)))
	f.Set(name("minutes-lost"), form.Shown(a.minutesLost, inMinutes))
	f.Set(name("re-tie-minutes"), form.Shown(a.retieMinutes, inMinutes))
}

// inMinutes writes a time in minutes alone, for a counter to count on.
func inMinutes(n int) string { return strconv.Itoa(n) + " min" }

// positive writes a count, and none as nothing.
func positive(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// notedName is what the fields of an event's details begin with.
func notedName(i, j int) string { return stintName(i, "noted."+strconv.Itoa(j)+".") }

// fillNoted writes the details of the events that no counter holds.
func (f *entry) fillNoted(i int, events []journal.Event) {
	for _, j := range noted(events) {
		f.Set(notedName(i, j)+"minute", form.Shown(events[j].Minute, strconv.Itoa))
		f.Set(notedName(i, j)+"note", events[j].Note)
	}
}

// notedMark stands before an event's index where its note was; no note can begin so.
const notedMark = "\x00"

// markNoted puts a mark on each event that no counter holds, so that it is known
// again when the counters have been brought up to date around it.
func markNoted(events []journal.Event) []journal.Event {
	marked := slices.Clone(events)
	for _, j := range noted(events) {
		marked[j].Note = notedMark + strconv.Itoa(j)
	}
	return marked
}

// readNoted takes the marks off and brings minutes and notes up to what the form says.
func (f *entry) readNoted(i int, was, merged []journal.Event) []journal.Event {
	for n := range merged {
		mark, ok := strings.CutPrefix(merged[n].Note, notedMark)
		j, err := strconv.Atoi(mark)
		if !ok || err != nil || j < 0 || j >= len(was) {
			continue
		}
		merged[n] = was[j]
		if at := notedName(i, j); f.Values.Has(at + "note") {
			const longest = 24 * 60 // as in the journal's rules
			merged[n].Minute, merged[n].Note = f.Whole(at+"minute", longest), f.Text(at+"note")
		}
	}
	return merged
}
