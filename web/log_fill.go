package web

import (
	"slices"
	"strconv"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
)

// fillSession writes a stored session into the form, so that reading the form
// again gives the same session.
func (f *entry) fillSession(s journal.Session, k known) {
	f.set("id", s.ID.String())
	f.set("version", strconv.Itoa(s.Version))
	f.set("angler", s.AnglerID.String())
	f.set("water", s.WaterID.String())
	if s.GuideID != nil {
		f.set("guide", s.GuideID.String())
	}
	if s.BeatID != nil {
		w, _ := k.water(s.WaterID)
		for _, b := range w.Beats {
			if b.ID == *s.BeatID {
				f.set("beat", b.Name)
			}
		}
	}
	f.set("day", s.Day.String())
	f.fillTimes(s)
	f.set("temp", shown(s.WaterTempC, in(units.ExactTemperature, f.units)))
	f.set("flow", shown(s.FlowM3S, in(units.ExactFlow, f.units)))
	f.set("stage", shown(s.StageM, in(units.ExactDepth, f.units)))
	f.set("depth", shown(s.DepthM, in(units.ExactDepth, f.units)))
	f.set("velocity", shown(s.VelocityMS, in(units.ExactSpeed, f.units)))
	if s.Storm {
		f.set("storm", "yes")
	}
	f.set("clarity", string(s.Clarity))
	f.set("wind", string(s.Wind))
	f.set("light", string(s.Light))
	f.set("notes", s.Notes)
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
	f.set("start", shown(s.Start, clock))
	f.set("end", shown(s.End, clock))
	if s.End != nil && journal.DateOf(s.End.In(loc)) != s.Day {
		f.set("next-day", "yes")
	}
}

func (f *entry) fillStint(i int, st journal.Stint, k known) {
	name := func(field string) string { return stintName(i, field) }
	f.set(name("id"), st.ID.String())
	f.set(name("rig"), st.RigID.String())
	f.set(name("minutes"), shown(st.Minutes, units.FormatDuration))
	f.set(name("casts"), shown(st.Casts, strconv.Itoa))
	f.set(name("stroke"), string(st.Stroke))
	f.set(name("notes"), st.Notes)
	for _, p := range st.Positions {
		at := placeName(p.Position)
		f.set(name(at+"start"), shown(p.TagStartMM, in(units.ExactLength, f.units)))
		f.set(name(at+"end"), shown(p.TagEndMM, in(units.ExactLength, f.units)))
		f.set(name(at+"fly"), p.Fly)
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
		f.set(name(c.key), positive(a.n[c.key]))
	}
	if a.n[keyCheck] > 0 {
		f.set(name("turns"), strconv.Itoa(a.turns))
	}
	f.set(name("cut"), shown(a.cutMM, in(units.ExactLength, f.units)))
	f.set(name("minutes-lost"), shown(a.minutesLost, inMinutes))
	f.set(name("re-tie-minutes"), shown(a.retieMinutes, inMinutes))
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
