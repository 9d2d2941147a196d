package logging

import (
	"slices"
	"strconv"
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
	if s.BeatID != nil {
		w, _ := k.water(s.WaterID)
		for _, b := range w.Beats {
			if b.ID == *s.BeatID {
				f.Set("beat", b.Name)
			}
		}
	}
	f.Set("day", s.Day.String())
	f.fillTimes(s)
	f.Set("temp", form.Shown(s.WaterTempC, form.In(units.ExactTemperature, f.Units)))
	f.Set("flow", form.Shown(s.FlowM3S, form.In(units.ExactFlow, f.Units)))
	f.Set("stage", form.Shown(s.StageM, form.In(units.ExactDepth, f.Units)))
	f.Set("depth", form.Shown(s.DepthM, form.In(units.ExactDepth, f.Units)))
	f.Set("velocity", form.Shown(s.VelocityMS, form.In(units.ExactSpeed, f.Units)))
	if s.Storm {
		f.Set("storm", "yes")
	}
	f.Set("clarity", string(s.Clarity))
	f.Set("wind", string(s.Wind))
	f.Set("light", string(s.Light))
	f.Set("notes", s.Notes)
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
	f.Set(name("minutes"), form.Shown(st.Minutes, units.FormatDuration))
	f.Set(name("casts"), form.Shown(st.Casts, strconv.Itoa))
	f.Set(name("stroke"), string(st.Stroke))
	f.Set(name("notes"), st.Notes)
	for _, p := range st.Positions {
		at := placeName(p.Position)
		f.Set(name(at+"start"), form.Shown(p.TagStartMM, form.In(units.ExactLength, f.Units)))
		f.Set(name(at+"end"), form.Shown(p.TagEndMM, form.In(units.ExactLength, f.Units)))
		f.Set(name(at+"fly"), p.Fly)
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
