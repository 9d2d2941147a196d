package logging

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

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
	d := journal.Draft{Session: journal.Session{Notes: f.Text("notes"), LoggedAt: was.LoggedAt}, Confirmed: f.Checked("confirmed")}
	s := &d.Session
	if id := f.ID("id"); id != nil {
		s.ID = *id
	}
	if v := f.Whole("version", 1<<30); v != nil {
		s.Version = *v
	}
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
	d.Angler = f.Text("angler.new")
	if a, ok := k.anglerNamed(d.Angler); ok {
		d.Angler, s.AnglerID = "", a.ID
	} else if id := f.ID("angler"); id != nil && d.Angler == "" {
		s.AnglerID = *id
	} else if d.Angler == "" && f.Wrong("angler") == "" {
		f.Fault("angler", "choose who fished, or write a new name")
	}
	d.Beat, d.Water, s.TimeZone = f.Text("beat"), f.Text("water.new"), zone
	w, ok := k.waterNamed(d.Water)
	if id := f.ID("water"); !ok && d.Water == "" {
		w, ok = k.water(orZero(id))
		switch {
		case id == nil && f.Wrong("water") == "":
			f.Fault("water", "choose where it was, or write a new name")
		case id != nil && !ok:
			f.Fault("water", "that water is not in this journal; choose one from the list")
		}
	}
	if ok {
		d.Water, s.WaterID, s.TimeZone = "", w.ID, w.TimeZone
		if w.ID == was.WaterID {
			s.TimeZone = was.TimeZone
		}
		for _, b := range w.Beats {
			if strings.EqualFold(b.Name, d.Beat) {
				d.Beat, s.BeatID = "", &b.ID
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

func (f *entry) readConditions(was journal.Session, s *journal.Session) {
	s.WaterTempC, s.FlowM3S = f.Temperature("temp"), f.Flow("flow")
	s.StageM, s.DepthM = f.Depth("stage"), f.Depth("depth")
	s.VelocityMS, s.Storm = f.Speed("velocity"), f.Checked("storm")
	s.Clarity, s.Wind, s.Light = journal.Clarity(f.Text("clarity")), journal.Wind(f.Text("wind")), journal.Light(f.Text("light"))
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
