package logging

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
)

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
func (f *entry) stints() int {
	n := 0
	for f.Values.Has(stintName(n, "id")) {
		n++
	}
	return n
}

// readSession turns the form into a session. was is the session as stored when
// it is being edited, and the zero session otherwise. What makes no sense is
// noted in the form; the session is then not to be used.
func (f *entry) readSession(k known, was journal.Session, zone string) journal.Draft {
	d := journal.Draft{Session: journal.Session{LoggedAt: was.LoggedAt}, Confirmed: f.Checked("confirmed")}
	s := &d.Session
	s.ID, s.Version = form.Or0(f.ID("id")), form.Or0(f.Whole("version", 1<<30))
	f.readPeople(k, was, zone, &d)
	f.readConditions(was, s)
	f.readTimes(was, s)
	n := f.stints()
	if n > maxStints {
		f.Fault("", fmt.Sprintf("there are %d stints; at most %d fit one session", n, maxStints))
		return d
	}
	for i := range n {
		s.Stints = append(s.Stints, f.readStint(i, k, was))
	}
	f.readMinutes(was, s)
	return d
}

// readPeople reads who fished and where. A new name goes before the list.
func (f *entry) readPeople(k known, was journal.Session, zone string, d *journal.Draft) {
	s := &d.Session
	s.GuideID = f.ID("guide")
	d.Angler = f.Meant("angler.new", names(k.anglers, func(a journal.Angler) string { return a.Name }))
	if a, ok := k.anglerNamed(d.Angler); ok {
		d.Angler, s.AnglerID = "", a.ID
	} else if id := f.ID("angler"); id != nil && d.Angler == "" {
		s.AnglerID = *id
	} else if d.Angler == "" && f.Wrong("angler") == "" {
		f.Fault("angler", "choose who fished, or write a new name")
	}
	d.Water, s.TimeZone = f.Meant("water.new", names(k.waters, func(w journal.Water) string { return w.Name })), zone
	w, ok := k.waterNamed(d.Water)
	if id := f.ID("water"); !ok && d.Water == "" {
		w, ok = k.water(form.Or0(id))
		switch {
		case id == nil && f.Wrong("water") == "":
			f.Fault("water", "choose where it was, or write a new name")
		case id != nil && !ok:
			f.Fault("water", "that water is not in this journal; choose one from the list")
		}
	}
	d.Beat = f.Meant("beat", names(w.Beats, func(b journal.Beat) string { return b.Name }))
	if ok {
		d.Water, s.WaterID, s.TimeZone = "", w.ID, w.TimeZone
		if w.ID == was.WaterID && !f.Checked("moved") {
			s.TimeZone = was.TimeZone
		}
		for _, b := range w.Beats {
			if strings.EqualFold(b.Name, d.Beat) {
				d.Beat, s.BeatID = "", &b.ID
			}
		}
	}
}

func (f *entry) readConditions(was journal.Session, s *journal.Session) {
	form.Take(f.Form, journal.SessionFields(), s, form.Own)
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
func (f *entry) readTimes(was journal.Session, s *journal.Session) {
	day, err := journal.ParseDate(f.Text("day"))
	if err != nil {
		f.Fault("day", err.Error())
		return
	}
	s.Day = day
	loc, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		f.Fault("", fmt.Sprintf("the water’s time zone %q is not known; correct it under Waters", s.TimeZone))
		return
	}
	s.Start = f.clock("start", day, loc, was.Start)
	endDay := day
	if f.Checked("next-day") {
		endDay = journal.DateOf(day.In(loc).AddDate(0, 0, 1))
	}
	s.End = f.clock("end", endDay, loc, was.End)
	f.pastMidnight(s, loc)
}

// clock reads a time of day. One that reads as it was stored is kept to the second.
func (f *entry) clock(name string, day journal.Date, loc *time.Location, was *time.Time) *time.Time {
	return form.Optional(f.Form, name, func(text string) (time.Time, error) {
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
func (f *entry) readStint(i int, k known, was journal.Session) journal.Stint {
	name := func(field string) string { return stintName(i, field) }
	var st journal.Stint
	form.Take(f.Form, journal.StintFields(), &st, name)
	st.ID = form.Or0(f.ID(name("id")))
	var old journal.Stint
	if j := slices.IndexFunc(was.Stints, func(s journal.Stint) bool { return s.ID == st.ID }); j >= 0 {
		old = was.Stints[j]
	}
	rigID := f.ID(name("rig"))
	rig, ok := k.rig(form.Or0(rigID))
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
	p := journal.StintPosition{Position: place}
	form.Take(f.Form, journal.TagFields(), &p, name)
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
		f.Fault(name("turns"), "checks were counted but not the turns they showed; write how many in all, 0 for none")
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
		f.Fault(name("re-tie-minutes"), "minutes were spent re-tying but no re-tie is counted; count the re-ties too")
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

// What was read off the clock and is said back on the session's page: the words
// that its address carries.
const (
	readNight = "night" // the end, as the next day's
	readClock = "clock" // the minutes, from start and end
)

// pastMidnight takes an end that is not after its start as the next day's, if that
// can be, and notes why not otherwise.
func (f *entry) pastMidnight(s *journal.Session, loc *time.Location) {
	if s.Start == nil || s.End == nil || s.End.After(*s.Start) {
		return
	}
	clock := func(t time.Time) time.Duration {
		h, m, sec := t.In(loc).Clock()
		return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(sec)*time.Second
	}
	span, err := journal.ReadClock(s.Day, s.TimeZone, clock(*s.Start), clock(*s.End), 0)
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		f.Fault("end", invalid.Error())
	case err != nil:
		f.Fault("end", err.Error())
	default:
		s.End = &span.End
		f.read = append(f.read, readNight)
	}
}

// readMinutes gives the one stint without minutes what start and end leave to it,
// breaks taken off. An edit that leaves times and minutes alone fills in none.
func (f *entry) readMinutes(was journal.Session, s *journal.Session) {
	breaks := f.Fished("breaks")
	blank, others := -1, 0.0
	for i, st := range s.Stints {
		switch {
		case st.Minutes != nil:
			others += *st.Minutes
		case f.Wrong(stintName(i, "minutes")) != "":
			return
		case blank >= 0:
			if breaks != nil {
				f.Fault("breaks", "breaks can be taken off for one stint without minutes; write the minutes of the others")
			}
			return
		default:
			blank = i
		}
	}
	if blank < 0 || f.Wrong("start") != "" || f.Wrong("end") != "" || f.Wrong("day") != "" {
		return
	}
	if s.Start == nil || s.End == nil {
		if breaks != nil {
			f.Fault("breaks", "breaks come off the time from start to end; write those two, or the minutes fished")
		}
		return
	}
	if breaks == nil && untouched(was, *s, s.Stints[blank].ID) {
		return
	}
	length := s.End.Sub(*s.Start).Minutes()
	left := length - others
	if breaks != nil {
		left -= *breaks
	}
	if left <= 0 {
		f.Fault(stintName(blank, "minutes"), fmt.Sprintf("start to end is %s, which leaves no time for this stint; write its minutes, or correct the others", units.FormatDuration(length)))
		return
	}
	s.Stints[blank].Minutes = &left
	f.read = append(f.read, readClock)
}

// untouched reports whether the journal holds the stint without minutes, in a
// session with the same times.
func untouched(was, s journal.Session, id journal.ID) bool {
	equal := func(a, b *time.Time) bool { return a != nil && b != nil && a.Equal(*b) }
	for _, st := range was.Stints {
		if st.ID == id {
			return st.Minutes == nil && equal(was.Start, s.Start) && equal(was.End, s.End)
		}
	}
	return false
}

// readBack says how a session's times were read off the clock.
func readBack(s journal.Session, read []string) string {
	if s.Start == nil || s.End == nil {
		return ""
	}
	text := ""
	for _, what := range read {
		switch what {
		case readNight:
			text += " It ends the next day: " + units.FormatDuration(s.End.Sub(*s.Start).Minutes()) + " from start to end."
		case readClock:
			fished := 0.0
			for _, st := range s.Stints {
				if st.Minutes != nil {
					fished += *st.Minutes
				}
			}
			text += " Start and end give the time fished, without any breaks: " + units.FormatDuration(fished) + "."
		}
	}
	return text
}
