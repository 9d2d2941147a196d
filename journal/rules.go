package journal

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"time"

	"rigtally/journal/field"
	"rigtally/journal/gauge"
)

// Limits of what can be true, in storage units. They are wide: their purpose is
// to catch a slip of the unit, not to judge. The same limits stand in the
// tables' constraints. Common practice, no source.
const (
	maxTagMM     = 2000
	maxLeaderMM  = 30000
	maxTippetMM  = 2
	maxMinutes   = 24 * 60
	maxCount     = 5000
	maxFlowM3S   = 400000
	maxPositions = 10
	maxTextLen   = 4000
	maxNameLen   = 120
)

// Invalid is an error of the data given, with a message for the person who gave it.
type Invalid struct {
	Problems []string
	// Fields names for each problem of a session the field that it is about, as in
	// its JSON: "stints[0].events[2].turns". It is "" for the whole, and nil where
	// fields are not told apart.
	Fields []string
}

func (e *Invalid) Error() string { return strings.Join(e.Problems, "; ") }

// Invalidf says in words what is wrong with what a person asked for.
func Invalidf(format string, args ...any) error {
	return &Invalid{Problems: []string{fmt.Sprintf(format, args...)}}
}

// rules gathers what is wrong with a value, so that people see it all at once.
type rules struct {
	problems, fields       []string
	stint, event, position int    // where it is looking, counted from 1
	field                  string // of that
	whole                  bool   // what it looks at has no fields told apart
}

// checkFields checks what was noted of something, as far as it is of one of some kinds.
func checkFields[T any](r *rules, list []field.Field[T], v *T, of string, kinds ...field.Kind) {
	for i := range list {
		f := &list[i]
		if !slices.Contains(kinds, f.Kind) {
			continue
		}
		if problem := f.Problem(v, of); problem != "" {
			r.on(f.Name()).add(problem)
		}
	}
}

func (r *rules) check(err error) {
	if err != nil {
		r.add(err.Error())
	}
}

func (r *rules) require(ok bool, format string, args ...any) {
	if !ok {
		r.add(fmt.Sprintf(format, args...))
	}
}

func (r *rules) add(problem string) {
	r.problems, r.fields = append(r.problems, problem), append(r.fields, r.path())
}

// on says which field the rules that follow are about.
func (r *rules) on(field string) *rules {
	r.field = field
	return r
}

func (r *rules) path() string {
	if r.whole {
		return ""
	}
	var parts []string
	for _, at := range []struct {
		name  string
		index int
	}{{"stints", r.stint}, {"events", r.event}, {"positions", r.position}} {
		if at.index > 0 {
			parts = append(parts, fmt.Sprintf("%s[%d]", at.name, at.index-1))
		}
	}
	if r.field != "" {
		parts = append(parts, r.field)
	}
	return strings.Join(parts, ".")
}

func (r *rules) within(what string, v *float64, low, high float64, unit string) {
	if v != nil {
		r.require(!math.IsNaN(*v) && *v >= low && *v <= high,
			"%s of %g %s can't be right; it must be between %g and %g %s", what, *v, unit, low, high, unit)
	}
}

// length wants more than nothing: a leader or tag of 0 mm is one not noted.
func (r *rules) length(what string, v *float64, high float64) {
	if v != nil {
		r.require(*v > 0 && *v <= high,
			"%s of %g mm can't be right; it must be above 0 and at most %g mm (leave it out if it was not noted)", what, *v, high)
	}
}

func (r *rules) text(what, s string, max int) {
	r.require(len(s) <= max, "%s is longer than %d characters; shorten it", what, max)
	r.require(!strings.ContainsRune(s, 0), "%s has a zero byte in it; type it again", what)
}

func (r *rules) name(what, s string) {
	r.require(strings.TrimSpace(s) != "", "%s has no name; give it one", what)
	r.text("the name of "+what, s, maxNameLen)
}

func (r *rules) err() error {
	if len(r.problems) == 0 {
		return nil
	}
	return &Invalid{Problems: r.problems, Fields: r.fields}
}

// IsInvalid reports whether err tells of data that a person can correct.
func IsInvalid(err error) bool {
	var invalid *Invalid
	return errors.As(err, &invalid)
}

// Validate checks an outfit by itself.
func (o Outfit) Validate() error {
	var r rules
	r.name("the outfit", o.Name)
	r.check(oneOf("units", o.Units, []string{"us", "metric"}))
	r.require(o.Units != "", "the units are missing; choose us or metric")
	r.check(CheckZone(o.TimeZone))
	r.require(o.PriorSD == 0 || o.PriorSD >= LeastPriorSD && o.PriorSD <= MostPriorSD, "the prior of best bets can't be %g; choose %g to %g", o.PriorSD, LeastPriorSD, MostPriorSD)
	return r.err()
}

// Validate checks an angler by itself.
func (a Angler) Validate() error {
	var r rules
	r.name("the angler", a.Name)
	r.require(a.Kind != "", "the angler has no kind; choose one")
	r.check(oneOf("kind of angler", a.Kind, AnglerKinds()))
	return r.err()
}

// Validate checks a water with its beats.
func (w Water) Validate() error {
	var r rules
	r.name("the water", w.Name)
	r.require(w.Kind != "", "the water has no kind; choose one")
	r.check(oneOf("kind of water", w.Kind, WaterKinds()))
	r.check(CheckZone(w.TimeZone))
	for _, b := range w.Beats {
		r.name("the beat", b.Name)
	}
	r.require(len(w.Gauges) <= mostGauges, "the water has %d gauges; at most %d can be kept", len(w.Gauges), mostGauges)
	for i, l := range w.Gauges {
		r.check(checkGauge(l))
		r.require(!slices.ContainsFunc(w.Gauges[:i], func(o gauge.Link) bool { return o.Site == l.Site && o.Sensor == l.Sensor }),
			"the gauge %s stands there twice; take one of them out", l.Site)
	}
	return r.err()
}

const (
	mostGauges      = 12  // of a water
	mostGaugeLetter = 100 // in the name of who runs one, its number or sensor
)

// checkGauge checks a link by itself.
func checkGauge(l gauge.Link) error {
	switch {
	case l.Provider == "" || l.Number == "":
		return Invalidf("a gauge needs who runs it and its number; fill in both or neither")
	case l.Site != gauge.NewSite(l.Provider, l.Number) || strings.Contains(l.Provider, ":"):
		return Invalidf("the gauge %s can't be written so; write who runs it in small letters and without a colon, as in usgs:01234567", l.Site)
	case len(l.Provider) > mostGaugeLetter || len(l.Number) > mostGaugeLetter || len(l.Sensor) > mostGaugeLetter:
		return Invalidf("a gauge's number can't be longer than %d letters; copy it again", mostGaugeLetter)
	}
	for i, q := range l.Takes {
		if err := oneOf("quantity of a gauge", q, gauge.Quantities()); err != nil {
			return err
		}
		if slices.Contains(l.Takes[:i], q) {
			return Invalidf("the gauge %s gives %s twice; name it once", l.Site, q)
		}
	}
	return nil
}

// zones keeps the time zones that were looked up: reading one takes as long as
// all other rules of a session together, and they never change.
var zones sync.Map

// zone finds a time zone by its IANA name.
func zone(name string) (*time.Location, error) {
	if name == "" || name == "Local" {
		return nil, errors.New("the time zone is missing; write an IANA name such as America/Denver")
	}
	if known, ok := zones.Load(name); ok {
		return known.(*time.Location), nil
	}
	loc, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("time zone %q is not known; write an IANA name such as America/Denver", name)
	}
	zones.Store(name, loc)
	return loc, nil
}

func CheckZone(name string) error {
	_, err := zone(name)
	return err
}

// Validate checks a rig with its positions.
func (rig Rig) Validate() error {
	r := rules{whole: true}
	r.name("the rig", rig.Name)
	for _, kind := range []field.Kind{field.Text, field.Chosen, field.Number} {
		checkFields(&r, rigFields, &rig, "", kind)
	}
	r.require(len(rig.Positions) > 0, "the rig has no fly; add at least the point fly or a dropper")
	r.require(len(rig.Positions) <= maxPositions, "the rig has %d flies; at most %d can be kept", len(rig.Positions), maxPositions)
	seen := map[int]bool{}
	for _, p := range rig.Positions {
		r.require(!seen[p.Position], "%s appears twice on the rig; give each fly its own position", PositionTitle(p.Position))
		seen[p.Position] = true
		p.validate(&r)
	}
	return r.err()
}

func (p RigPosition) validate(r *rules) {
	at := PositionTitle(p.Position)
	r.require(p.Position >= 0 && p.Position < maxPositions, "position %d can't be right; write 0 for the point, 1 for the dropper above it, and so on", p.Position)
	checkFields(r, flyFields, &p, at, field.Chosen)
	if p.Position == 0 {
		r.require(p.Hang == "", "the point fly ends the leader and has no hang; leave it out")
	} else {
		r.require(p.Hang != "", "%s has no hang; choose tag, eye or bend", at)
	}
	if p.Hang != HangTag {
		r.require(p.Junction == "" && p.Facing == "" && p.Prop == "" && p.TagLengthMM == nil,
			"%s does not hang on a tag, so it has no junction, facing, prop or tag length; leave them out or choose tag", at)
	}
	r.require((p.Junction == JunctionOther) == (strings.TrimSpace(p.JunctionName) != ""),
		"%s: a junction with your own name goes with junction \"other\", and only with it", at)
	checkFields(r, flyFields, &p, at, field.Text)
	checkFields(r, flyFields, &p, at, field.Number, field.Whole)
}

// Validate checks a session with its stints. rigs holds every rig they name.
func (s Session) Validate(rigs map[ID]Rig) error {
	var r rules
	r.on("id").require(!s.ID.IsZero(), "the session has no id")
	r.on("angler_id").require(!s.AnglerID.IsZero(), "the session has no angler; say who fished")
	r.on("water_id").require(!s.WaterID.IsZero(), "the session has no water; say where")
	r.on("day").require(!s.Day.IsZero(), "the session has no day; write it as 2026-04-30")
	r.require(s.Day.IsZero() || s.Day.Year >= 1900 && s.Day.Year <= 2200, "the day %s can't be right; write one between 1900 and 2200, as 2026-04-30", s.Day)
	checkFields(&r, sessionFields, &s, "", field.Number, field.Chosen, field.Text)
	for _, c := range s.FromGauge {
		r.on("from_gauge").check(oneOf("gauge condition", c, GaugeConditions()))
	}
	s.validateTimes(&r)
	r.on("stints").require(len(s.Stints) > 0, "the session has no stint; add one, even with no minutes noted")
	for i, st := range s.Stints {
		r.stint = i + 1
		st.validate(&r, i+1, rigs)
	}
	return r.err()
}

func (s Session) validateTimes(r *rules) {
	loc, err := zone(s.TimeZone)
	r.on("time_zone").check(err)
	if s.Start != nil && err == nil {
		r.on("day").require(DateOf(s.Start.In(loc)) == s.Day, "the session starts on %s but is dated %s; correct one of them", DateOf(s.Start.In(loc)), s.Day)
	}
	r.on("start").require(s.End == nil || s.Start != nil, "the session has an end but no start; add the start")
	if s.Start == nil || s.End == nil {
		return
	}
	length := s.End.Sub(*s.Start)
	r.on("end").require(length > 0, "the session ends before it starts; correct one of the times")
	r.on("end").require(length <= 24*time.Hour, "the session lasts more than a day; split it")
	fished := 0.0
	for _, st := range s.Stints {
		if st.Minutes != nil {
			fished += *st.Minutes
		}
	}
	r.on("stints").require(length <= 0 || fished <= length.Minutes()+1.0/60,
		"the stints add up to %.4g minutes, but the session lasted %.0f; correct the minutes or the times", fished, length.Minutes())
}

func (st Stint) validate(r *rules, number int, rigs map[ID]Rig) {
	at := fmt.Sprintf("stint %d", number)
	rig, ok := rigs[st.RigID]
	if !ok {
		r.on("rig_id").require(false, "the rig of %s is not in this journal; choose one from the list", at)
		return
	}
	r.on("id").require(!st.ID.IsZero(), "%s has no id", at)
	checkFields(r, stintFields, &st, at, field.Number, field.Whole, field.Chosen, field.Text)
	seen := map[int]bool{}
	for i, p := range st.Positions {
		r.position = i + 1
		r.on("position").require(!seen[p.Position], "%s has %s twice", at, PositionTitle(p.Position))
		seen[p.Position] = true
		_, on := rig.At(p.Position)
		r.on("position").require(on, "%s has %s, which is not on the rig %s", at, PositionTitle(p.Position), rig.Title())
		checkFields(r, tagFields, &p, at, field.Number, field.Text)
		rp, _ := rig.At(p.Position)
		r.on("tag_start_mm").require(rp.Hang == HangTag || p.TagStartMM == nil && p.TagEndMM == nil,
			"%s gives a tag length for %s, which does not hang on a tag", at, PositionTitle(p.Position))
	}
	r.position = 0
	broken := len(r.problems)
	for i, e := range st.Events {
		r.event = i + 1
		e.validate(r, at, rig, st.Minutes)
	}
	r.event = 0
	if len(r.problems) == broken {
		_, err := TallyStint(rig, st)
		r.on("events").check(err)
	}
}

func (e Event) validate(r *rules, at string, rig Rig, minutes *float64) {
	r.on("kind").require(e.Kind != "", "%s has an event of no kind", at)
	r.check(oneOf("event of "+at, e.Kind, EventKinds()))
	r.on("count").require(e.Count >= 1 && e.Count <= maxCount, "%s counts %d of one event; write between 1 and %d", at, e.Count, maxCount)
	if e.Position != nil {
		_, on := rig.At(*e.Position)
		r.on("position").require(on, "%s has a %s on %s, which is not on the rig %s", at, e.Kind, PositionTitle(*e.Position), rig.Title())
	}
	if e.Minute != nil {
		high := float64(maxMinutes)
		if minutes != nil {
			high = *minutes
		}
		r.on("minute").require(*e.Minute >= 0 && float64(*e.Minute) <= math.Ceil(high), "%s has a %s in minute %d, outside its %.4g minutes", at, e.Kind, *e.Minute, high)
	}
	e.validateByKind(r, at)
	r.on("note").text("an event's note", e.Note, maxTextLen)
	r.on("species").text("the species", e.Species, maxNameLen)
}

// validateByKind refuses what does not go with the kind of the event.
func (e Event) validateByKind(r *rules, at string) {
	only := func(set bool, field, what string, kinds ...EventKind) {
		r.on(field).require(!set || slices.Contains(kinds, e.Kind), "%s has a %s with %s; these do not go together", at, e.Kind, what)
	}
	only(e.Hooking != "", "hooking", "a hooking", EventHookup)
	only(e.Ending != "", "ending", "an ending", EventHookup, EventSnag)
	only(e.BreakPlace != "", "break_place", "a break place", EventHookup, EventSnag)
	only(e.Species != "", "species", "a species", EventHookup)
	only(e.FishLengthMM != nil, "fish_length_mm", "a fish length", EventHookup)
	only(e.TangleKind != "", "tangle_kind", "a kind of tangle", EventTangle)
	only(e.MinutesLost != nil, "minutes_lost", "minutes lost", EventTangle, EventRetie)
	only(e.Turns != nil, "turns", "turns", EventCheck)
	only(e.CutMM != nil, "cut_mm", "a cut", EventFlyChange)
	switch e.Kind {
	case EventHookup:
		r.on("hooking").check(oneOf("hooking", e.Hooking, Hookings()))
		r.on("ending").check(oneOf("ending of a hookup", e.Ending, HookupEndings()))
	case EventSnag:
		r.on("ending").check(oneOf("ending of a snag", e.Ending, SnagEndings()))
	case EventTangle:
		r.on("tangle_kind").check(oneOf("kind of tangle", e.TangleKind, TangleKinds()))
	case EventCheck:
		r.on("turns").require(e.Turns != nil && *e.Turns >= 0 && *e.Turns <= maxCount, "%s has a check without its turns; write how many, 0 for none", at)
	}
	r.on("break_place").check(oneOf("break place", e.BreakPlace, BreakPlaces()))
	r.require(e.BreakPlace == "" || e.Ending == BrokeOff, "%s has a break place for a %s that did not break off", at, e.Kind)
	r.on("fish_length_mm").length("a fish's length", e.FishLengthMM, 3000)
	r.on("cut_mm").within("a cut of the tag", e.CutMM, 0, maxTagMM, "mm")
	if e.MinutesLost != nil {
		r.on("minutes_lost").require(*e.MinutesLost >= 0 && *e.MinutesLost <= maxMinutes, "%s has %d minutes lost; write between 0 and %d", at, *e.MinutesLost, maxMinutes)
	}
}

// Problems says what of a stint cannot be, its minutes lost included; rigs holds the rig that it names.
// The number is the stint's in its session, from 1.
func (st Stint) Problems(number int, rigs map[ID]Rig) []string {
	var r rules
	st.validate(&r, number, rigs)
	lost := 0
	for _, e := range st.Events {
		if e.MinutesLost != nil {
			lost += *e.MinutesLost
		}
	}
	if st.Minutes != nil {
		r.require(float64(lost) <= *st.Minutes, "stint %d lost %d minutes of its %.4g; correct one of them", number, lost, *st.Minutes)
	}
	return r.problems
}
