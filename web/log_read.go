package web

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/journal"
)

// known is what the log form chooses from.
type known struct {
	anglers []journal.Angler
	waters  []journal.Water
	rigs    []journal.RigUse // the last fished first
}

func (k known) rig(id journal.ID) (journal.Rig, bool) {
	for _, r := range k.rigs {
		if r.ID == id {
			return r.Rig, true
		}
	}
	return journal.Rig{}, false
}

// byID returns every rig by its id.
func (k known) byID() map[journal.ID]journal.Rig {
	rigs := map[journal.ID]journal.Rig{}
	for _, r := range k.rigs {
		rigs[r.ID] = r.Rig
	}
	return rigs
}

func (k known) water(id journal.ID) (journal.Water, bool) {
	for _, w := range k.waters {
		if w.ID == id {
			return w, true
		}
	}
	return journal.Water{}, false
}

func (k known) waterNamed(name string) (journal.Water, bool) {
	for _, w := range k.waters {
		if strings.EqualFold(w.Name, name) {
			return w, true
		}
	}
	return journal.Water{}, false
}

func (k known) anglerNamed(name string) (journal.Angler, bool) {
	for _, a := range k.anglers {
		if strings.EqualFold(a.Name, name) {
			return a, true
		}
	}
	return journal.Angler{}, false
}

// maxStints keeps a form from growing without end.
const maxStints = 40

// stintName is the name of a field of the i-th stint, from 0.
func stintName(i int, field string) string { return "stint." + strconv.Itoa(i) + "." + field }

// placeName is the part of a counter's name that says where it happened.
func placeName(place int) string {
	if place == wholeRig {
		return "at.all."
	}
	return "at." + strconv.Itoa(place) + "."
}

// stints counts the form's stints.
func (f *form) stints() int {
	n := 0
	for f.values.Has(stintName(n, "id")) {
		n++
	}
	return n
}

// entry is a session as the form says it, with the names of people and waters
// that the journal does not hold yet.
type entry struct {
	session                   journal.Session
	newAngler, newWater, beat string
}

// readSession turns the form into a session. was is the session as stored when
// it is being edited, and the zero session otherwise. What makes no sense is
// noted in the form; the session is then not to be used.
func (f *form) readSession(k known, was journal.Session, zone string) entry {
	e := entry{session: journal.Session{Stints: nil, Notes: f.text("notes"), LoggedAt: was.LoggedAt}}
	s := &e.session
	if id := f.id("id"); id != nil {
		s.ID = *id
	}
	if v := f.whole("version", 1<<30); v != nil {
		s.Version = *v
	}
	f.readPeople(k, was, zone, &e)
	f.readConditions(was, s)
	f.readTimes(was, s)
	n := f.stints()
	if n > maxStints {
		f.fault("", fmt.Sprintf("there are %d stints; at most %d fit one session", n, maxStints))
		return e
	}
	for i := range n {
		s.Stints = append(s.Stints, f.readStint(i, k, was))
	}
	return e
}

// readPeople reads who fished and where. A new name goes before the list.
func (f *form) readPeople(k known, was journal.Session, zone string, e *entry) {
	s := &e.session
	s.GuideID = f.id("guide")
	e.newAngler = f.text("angler.new")
	if a, ok := k.anglerNamed(e.newAngler); ok {
		e.newAngler, s.AnglerID = "", a.ID
	} else if id := f.id("angler"); id != nil && e.newAngler == "" {
		s.AnglerID = *id
	} else if e.newAngler == "" && f.wrong("angler") == "" {
		f.fault("angler", "choose who fished, or write a new name")
	}
	e.beat, e.newWater, s.TimeZone = f.text("beat"), f.text("water.new"), zone
	w, ok := k.waterNamed(e.newWater)
	if id := f.id("water"); !ok && e.newWater == "" {
		w, ok = k.water(orZero(id))
		switch {
		case id == nil && f.wrong("water") == "":
			f.fault("water", "choose where it was, or write a new name")
		case id != nil && !ok:
			f.fault("water", "that water is not in this journal; choose one from the list")
		}
	}
	if ok {
		e.newWater, s.WaterID, s.TimeZone = "", w.ID, w.TimeZone
		if w.ID == was.WaterID {
			s.TimeZone = was.TimeZone
		}
		for _, b := range w.Beats {
			if strings.EqualFold(b.Name, e.beat) {
				e.beat, s.BeatID = "", &b.ID
			}
		}
	}
}

func orZero(id *journal.ID) journal.ID {
	if id == nil {
		return journal.ID{}
	}
	return *id
}

func (f *form) readConditions(was journal.Session, s *journal.Session) {
	s.WaterTempC, s.FlowM3S = f.temperature("temp"), f.flow("flow")
	s.StageM, s.DepthM = f.depth("stage"), f.depth("depth")
	s.Clarity, s.Wind, s.Light = journal.Clarity(f.text("clarity")), journal.Wind(f.text("wind")), journal.Light(f.text("light"))
	kept := map[string]bool{
		"water_temp_c": same(s.WaterTempC, was.WaterTempC),
		"flow_m3s":     same(s.FlowM3S, was.FlowM3S),
		"stage_m":      same(s.StageM, was.StageM),
	}
	for _, c := range was.FromGauge {
		if kept[c] { // what was typed over is no longer the gauge's
			s.FromGauge = append(s.FromGauge, c)
		}
	}
}

// readTimes reads the day and the clock times on it.
func (f *form) readTimes(was journal.Session, s *journal.Session) {
	day, err := journal.ParseDate(f.text("day"))
	if err != nil {
		f.fault("day", err.Error())
		return
	}
	s.Day = day
	loc, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		f.fault("", fmt.Sprintf("the water’s time zone %q is not known; correct it under Waters", s.TimeZone))
		return
	}
	s.Start = f.clock("start", day, loc, was.Start)
	endDay := day
	if f.checked("next-day") {
		endDay = journal.DateOf(day.In(loc).AddDate(0, 0, 1))
	}
	s.End = f.clock("end", endDay, loc, was.End)
}

// clock reads a time of day. One that reads as it was stored is kept to the second.
func (f *form) clock(name string, day journal.Date, loc *time.Location, was *time.Time) *time.Time {
	return optional(f, name, func(text string) (time.Time, error) {
		if was != nil && was.In(loc).Format("15:04") == text && journal.DateOf(was.In(loc)) == day {
			return *was, nil
		}
		compact := strings.ToUpper(strings.ReplaceAll(text, " ", ""))
		for _, layout := range []string{"15:04", "15:04:05", "15.04", "1504", "3:04PM", "3PM"} {
			clock, err := time.Parse(layout, compact)
			if err != nil {
				continue
			}
			t := time.Date(day.Year, day.Month, day.Day, clock.Hour(), clock.Minute(), clock.Second(), 0, loc)
			if t.Hour() != clock.Hour() || t.Minute() != clock.Minute() {
				return t, fmt.Errorf("%s did not exist on that day, when the clocks went forward; write the time after the change", text)
			}
			return t, nil
		}
		return time.Time{}, errors.New("“" + clip(text) + "” is not a time of day; write it as 08:30 or 4:15 pm")
	})
}

// clip keeps what was typed short enough to be quoted.
func clip(text string) string {
	if r := []rune(text); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return text
}

// readStint reads one stint, with the events that it had before the edit.
func (f *form) readStint(i int, k known, was journal.Session) journal.Stint {
	name := func(field string) string { return stintName(i, field) }
	st := journal.Stint{Minutes: f.duration(name("minutes")), Casts: f.whole(name("casts"), 100000),
		Stroke: journal.Stroke(f.text(name("stroke"))), Notes: f.text(name("notes"))}
	if id := f.id(name("id")); id != nil {
		st.ID = *id
	}
	var old journal.Stint
	if j := slices.IndexFunc(was.Stints, func(s journal.Stint) bool { return s.ID == st.ID }); j >= 0 {
		old = was.Stints[j]
	}
	rigID := f.id(name("rig"))
	rig, ok := k.rig(orZero(rigID))
	switch {
	case rigID == nil && f.wrong(name("rig")) == "":
		f.fault(name("rig"), fmt.Sprintf("choose the rig of stint %d", i+1))
	case rigID != nil && !ok:
		f.fault(name("rig"), fmt.Sprintf("the rig of stint %d is not in this journal; choose one from the list", i+1))
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
		if f.values.Has(name(placeName(place) + "landed")) {
			said[place] = f.readAmounts(i, place)
		}
	}
	if d := rig.Droppers(); len(d) == 1 {
		tags[wholeRig] = tags[d[0].Position] // what happens to its tag may stand with the whole rig
	}
	st.Events = merge(old.Events, f.dropped(i, len(old.Events)), said, tags)
	return st
}

// placesAt lists the places of a stint that the form has fields for.
func (f *form) placesAt(i int) []int {
	list := []int{wholeRig}
	for place := range 10 {
		for _, field := range []string{"landed", "start", "end", "fly"} {
			if f.values.Has(stintName(i, placeName(place)+field)) {
				list = append(list, place)
				break
			}
		}
	}
	return list
}

func (f *form) readPosition(i, place int, rig journal.Rig, old journal.Stint) (journal.StintPosition, tagNoted) {
	name := func(field string) string { return stintName(i, placeName(place)+field) }
	p := journal.StintPosition{Position: place, TagStartMM: f.shortLength(name("start")), TagEndMM: f.shortLength(name("end")), Fly: f.text(name("fly"))}
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
func (f *form) readAmounts(i, place int) amounts {
	name := func(field string) string { return stintName(i, placeName(place)+field) }
	a := amounts{n: map[string]int{}, cutMM: f.shortLength(name("cut")), minutesLost: f.duration(name("minutes-lost")), retieMinutes: f.duration(name("re-tie-minutes"))}
	for _, c := range cells() {
		if n := f.count(name(c.key)); n > 0 {
			a.n[c.key] = n
		}
	}
	a.turns = f.count(name("turns"))
	if a.turns > 0 && a.n[keyCheck] == 0 {
		f.fault(name("turns"), "turns were counted but no check; count the checks too")
	}
	if a.cutMM != nil && a.n[keyFlyChange] == 0 {
		f.fault(name("cut"), "a cut is noted but no fly change; count the fly changes too")
	}
	if a.minutesLost != nil && a.total(tangleKeys()...) == 0 {
		f.fault(name("minutes-lost"), "minutes were lost but no tangle is counted; count the tangles too")
	}
	if a.retieMinutes != nil && a.n[keyRetie] == 0 {
		f.fault(name("re-tie-minutes"), "minutes went on re-ties but none is counted; count the re-ties too")
	}
	return a
}

// dropped tells which of the noted events are to be taken out.
func (f *form) dropped(i, n int) map[int]bool {
	drop := map[int]bool{}
	for j := range n {
		if f.checked(stintName(i, "drop."+strconv.Itoa(j))) {
			drop[j] = true
		}
	}
	return drop
}
