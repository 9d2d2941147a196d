package outing

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
)

// told is a session as an editor shows it: texts by the names of the flags of "rigtally log".
type told struct {
	version int
	session map[string]string
	stints  []toldStint
}

// toldStint is a stint in texts. What belongs to one fly stands with its position; wholeRig has what belongs to none.
type toldStint struct {
	id     string // "" of a new one
	values map[string]string
	places map[int]map[string]string
	main   int // the place whose counts stand beside the stint's own values
}

func (t told) clone() told {
	t.session = maps.Clone(t.session)
	t.stints = slices.Clone(t.stints)
	for i := range t.stints {
		st := &t.stints[i]
		st.values, st.places = maps.Clone(st.values), maps.Clone(st.places)
		for place, values := range st.places {
			st.places[place] = maps.Clone(values)
		}
	}
	return t
}

// editable is one thing of a T that can be edited, as text.
type editable[T any] struct {
	key, usage string
	text       func(*T, units.System) string
	set        func(*T, string, units.System) error // a blank takes it out
}

// editables are the fields that have a flag, or a name here.
func editables[T any](fields []field.Field[T], names map[string]string) []editable[T] {
	var all []editable[T]
	for _, f := range fields {
		usage := cmp.Or(f.Usage, names[f.Key])
		if usage == "" {
			continue
		}
		if f.Words != nil {
			usage += ": " + strings.Join(f.Words, ", ")
		}
		all = append(all, editable[T]{f.FlagName(), usage, f.Exact, func(v *T, text string, sys units.System) error {
			if units.IsBlank(text) {
				f.Set(v, nil)
				return nil
			}
			value, err := read(f.Kind, f.Description, text, sys)
			if err == nil {
				f.Set(v, value)
			}
			return err
		}})
	}
	return all
}

func conditionsToEdit() []editable[journal.Session] { return editables(journal.SessionFields(), nil) }
func stintToEdit() []editable[journal.Stint]        { return editables(journal.StintFields(), nil) }
func tagToEdit() []editable[journal.StintPosition] {
	return editables(journal.TagFields(), map[string]string{"tag_start": "`length` of the tag when the stint began, if not as tied", "fly": "`pattern` of the fly, if not the rig's"})
}

// keysOf are the names of what can be edited.
func keysOf[T any](list []editable[T]) []string {
	keys := make([]string, len(list))
	for i, e := range list {
		keys[i] = e.key
	}
	return keys
}

// namesToEdit are what of a session refers to others, and when it was.
var namesToEdit = []string{"angler", "guide", "water", "beat", "date", "start", "end", "time-zone"}

// sessionKeys and stintKeys name all that can be edited, in their order.
func sessionKeys() []string { return append(slices.Clone(namesToEdit), keysOf(conditionsToEdit())...) }

func stintKeys() []string { return append([]string{"rig"}, keysOf(stintToEdit())...) }

func placeKeys() []string {
	keys := keysOf(tagToEdit())
	for _, e := range countEntries() {
		keys = append(keys, e.key)
	}
	return keys
}

// tell puts a session into texts.
func tell(s journal.Session, n Known, sys units.System) told {
	t := told{version: s.Version, session: map[string]string{
		"angler": n.Anglers[s.AnglerID].Name, "water": n.Waters[s.WaterID].Name, "date": s.Day.String(),
		"start": clockText(s.Start, s), "end": clockText(s.End, s), "time-zone": s.TimeZone,
	}}
	if s.GuideID != nil {
		t.session["guide"] = n.Anglers[*s.GuideID].Name
	}
	if s.BeatID != nil {
		t.session["beat"] = n.beat(s.WaterID, *s.BeatID)
	}
	for _, e := range conditionsToEdit() {
		t.session[e.key] = e.text(&s, sys)
	}
	dropEmpty(t.session)
	for _, st := range s.Stints {
		t.stints = append(t.stints, tellStint(st, n.Rigs[st.RigID], sys))
	}
	return t
}

func tellStint(st journal.Stint, rig journal.Rig, sys units.System) toldStint {
	out := toldStint{id: st.ID.String(), values: map[string]string{"rig": rig.Title()}, places: map[int]map[string]string{}, main: wholeRig}
	for _, e := range stintToEdit() {
		out.values[e.key] = e.text(&st, sys)
	}
	dropEmpty(out.values)
	if len(rig.Positions) == 1 && len(at(st.Events, wholeRig)) == 0 {
		out.main = rig.Positions[0].Position
	}
	places := map[int]bool{out.main: true}
	for _, p := range rig.Positions {
		places[p.Position] = true
	}
	for _, e := range st.Events {
		if e.Position != nil {
			places[*e.Position] = true
		} else {
			places[wholeRig] = true
		}
	}
	for place := range places {
		values := countTexts(st, place, place == out.main, sys)
		i := slices.IndexFunc(st.Positions, func(p journal.StintPosition) bool { return p.Position == place })
		for _, e := range tagToEdit() {
			if i >= 0 {
				values[e.key] = e.text(&st.Positions[i], sys)
			}
		}
		dropEmpty(values)
		out.places[place] = values
	}
	return out
}

func dropEmpty(values map[string]string) {
	maps.DeleteFunc(values, func(_, text string) bool { return text == "" })
}

func clockText(at *time.Time, s journal.Session) string {
	loc, err := time.LoadLocation(s.TimeZone)
	if at == nil || err != nil {
		return ""
	}
	if journal.DateOf(at.In(loc)) != s.Day {
		return at.In(loc).Format("2006-01-02 15:04")
	}
	return at.In(loc).Format("15:04")
}

// wrong is what is wrong with a text: in which stint, 0 for the session, at which place and under which key.
type wrong struct {
	stint, place int
	key          string
	err          error
}

func (w *wrong) Error() string {
	if w.stint == 0 {
		return fmt.Sprintf("%s: %v", w.key, w.err)
	}
	return fmt.Sprintf("stint %d, %s: %v", w.stint, w.key, w.err)
}

func (w *wrong) Unwrap() error { return w.err }

// edited plans a session that was changed from what the journal had to what is told now. What was not touched stays as
// it is, to the second and to the last event.
func (pl planner) edited(was journal.Session, now told) (plan, error) {
	before := tell(was, pl.known, pl.sys)
	p := plan{session: was, known: pl.known.clone(), sys: pl.sys, names: pl.names, rigs: map[journal.ID]journal.Rig{}}
	p.session.Version = cmp.Or(now.version, was.Version)
	p.session.Stints = nil
	changed := func(key string) bool { return before.session[key] != now.session[key] }
	for _, e := range conditionsToEdit() {
		if changed(e.key) {
			if err := e.set(&p.session, now.session[e.key], pl.sys); err != nil {
				return p, &wrong{key: e.key, err: err}
			}
		}
	}
	p.session.FromGauge = stillGauged(was, p.session)
	if err := p.renamed(was, now.session, changed, pl); err != nil {
		return p, err
	}
	for i, st := range now.stints {
		stint, err := p.editedStint(was, before, st, i+1, pl)
		if err != nil {
			return p, err
		}
		p.session.Stints = append(p.session.Stints, stint)
	}
	if len(p.session.Stints) == 0 {
		return p, terminal.Misusef("a session has a stint at least; to take the session out: rigtally sessions delete %s", was.ID)
	}
	return p, nil
}

// stillGauged are the conditions that the gauge told and nobody typed over.
func stillGauged(was, now journal.Session) []string {
	var list []string
	for _, f := range journal.SessionFields() {
		if slices.Contains(was.FromGauge, f.Name()) && f.Same(&was, &now) {
			list = append(list, f.Name())
		}
	}
	return list
}

// renamed brings who, where and when up to what is told.
func (p *plan) renamed(was journal.Session, now map[string]string, changed func(string) bool, pl planner) (err error) {
	s := &p.session
	if changed("date") {
		today, err := pl.today(now["water"])
		if err != nil {
			return err
		}
		if s.Day, err = parseDay(now["date"], today); err != nil {
			return &wrong{key: "date", err: err}
		}
	}
	if changed("angler") {
		if now["angler"] == "" {
			return &wrong{key: "angler", err: fmt.Errorf("who fished is missing; write the name")}
		}
		if s.AnglerID, p.draft.Angler, err = p.angler(now["angler"], journal.Client); err != nil {
			return &wrong{key: "angler", err: err}
		}
	}
	if changed("guide") {
		if s.GuideID = nil; now["guide"] != "" {
			id, name, err := p.angler(now["guide"], journal.Guiding)
			if err != nil {
				return &wrong{key: "guide", err: err}
			}
			s.GuideID, p.draft.Guide = &id, name
		}
	}
	if changed("water") || changed("beat") {
		if now["water"] == "" {
			return &wrong{key: "water", err: fmt.Errorf("where it was is missing; write the name of the water")}
		}
		s.BeatID = nil
		if err := p.place(draft{water: now["water"], beat: now["beat"]}, pl.zone); err != nil {
			return &wrong{key: "water", err: err}
		}
		if s.WaterID == was.WaterID {
			s.TimeZone = was.TimeZone
		}
	}
	if changed("time-zone") {
		if err := journal.CheckZone(now["time-zone"]); err != nil {
			return &wrong{key: "time-zone", err: err}
		}
		s.TimeZone = now["time-zone"]
	}
	s.Start, s.End = was.Start, was.End
	loc, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		return fmt.Errorf("find the water's time zone: %w", err)
	}
	for key, to := range map[string]**time.Time{"start": &s.Start, "end": &s.End} {
		if changed(key) || changed("date") || s.TimeZone != was.TimeZone {
			if *to, err = parseClock(now[key], s.Day, loc); err != nil {
				return &wrong{key: key, err: err}
			}
		}
	}
	return nil
}

// editedStint is a stint as it is told now: one that the journal had, brought up to that, or a new one.
func (p *plan) editedStint(was journal.Session, before told, now toldStint, number int, pl planner) (st journal.Stint, err error) {
	fault := func(place int, key string, err error) error {
		return &wrong{stint: number, place: place, key: key, err: err}
	}
	i := slices.IndexFunc(before.stints, func(t toldStint) bool { return t.id == now.id })
	var had toldStint
	if i >= 0 {
		st, had = was.Stints[i], before.stints[i]
	} else {
		st.ID, st.Recorded = journal.NewID(), journal.RecordedOf()
	}
	for _, e := range stintToEdit() {
		if had.values[e.key] != now.values[e.key] {
			if err := e.set(&st, now.values[e.key], pl.sys); err != nil {
				return st, fault(wholeRig, e.key, err)
			}
		}
	}
	if name := now.values["rig"]; had.values["rig"] != name {
		rig, known := p.known.Rig(name)
		if !known {
			return st, fault(wholeRig, "rig", fmt.Errorf("the journal has no rig %q%s", name, terminal.Guess("", name, p.known.RigNames(), "; \"rigtally rigs list\" shows them")))
		}
		st.RigID = rig.ID
	}
	if i < 0 { // its counts belong to the rig's only fly
		if rig := p.known.Rigs[st.RigID]; len(rig.Positions) == 1 && now.places[wholeRig] != nil {
			now.main = rig.Positions[0].Position
			now.places = map[int]map[string]string{now.main: now.places[wholeRig]}
		}
	}
	old := st.Recorded
	st.Recorded = recordedNow(old, had, now)
	fair := journal.Hooking("")
	if st.Recorded.Has(journal.KindHooking) {
		fair = journal.Fair
	}
	for _, place := range placesOf(had, now) {
		if st.Events, err = recount(st.Events, place, had.places[place], now.places[place], fair, pl.sys); err != nil {
			key, _, _ := strings.Cut(err.Error(), ":")
			return st, fault(place, key, unwrapped(err))
		}
		if key, err := editTag(&st, place, had.places[place], now.places[place], pl.sys); err != nil {
			return st, fault(place, key, err)
		}
	}
	return st, nil
}

// unwrapped is what was wrong, without the key that stands before it.
func unwrapped(err error) error {
	if _, rest, ok := strings.Cut(err.Error(), ": "); ok {
		return fmt.Errorf("%s", rest)
	}
	return err
}

func placesOf(a, b toldStint) []int {
	all := maps.Clone(a.places)
	if all == nil {
		all = map[int]map[string]string{}
	}
	maps.Copy(all, b.places)
	return slices.Sorted(maps.Keys(all))
}

// editTag brings what is noted of a fly up to what is told.
func editTag(st *journal.Stint, place int, had, now map[string]string, sys units.System) (key string, err error) {
	i := slices.IndexFunc(st.Positions, func(p journal.StintPosition) bool { return p.Position == place })
	at := journal.StintPosition{Position: place}
	if i >= 0 {
		at = st.Positions[i]
	}
	touched := false
	for _, e := range tagToEdit() {
		if had[e.key] == now[e.key] {
			continue
		}
		touched = true
		if place == wholeRig {
			return e.key, fmt.Errorf("it belongs to one fly; write it below a [[stint.fly]] with its position")
		}
		if err := e.set(&at, now[e.key], sys); err != nil {
			return e.key, err
		}
	}
	if !touched {
		return "", nil
	}
	st.Positions = slices.DeleteFunc(slices.Clone(st.Positions), func(p journal.StintPosition) bool { return p.Position == place })
	if at != (journal.StintPosition{Position: place}) {
		st.Positions = append(st.Positions, at)
	}
	slices.SortFunc(st.Positions, func(a, b journal.StintPosition) int { return a.Position - b.Position })
	return "", nil
}

// recordedNow is of what count was kept: as before, but for the kinds that are told of first now, and for those that are
// told of nowhere any more.
func recordedNow(old journal.Recorded, had, now toldStint) journal.Recorded {
	r, before, after := old, had.kinds(), now.kinds()
	for _, kind := range journal.Kinds() {
		switch {
		case after[kind] && !before[kind] && !r.Has(kind):
			r = r.With(kind)
		case before[kind] && !after[kind]:
			r = r.Without(kind)
		}
	}
	if before[journal.KindTangles] && !after[journal.KindTangles] {
		r = r.Without(journal.KindTangleKind, journal.KindMinutesLost)
	}
	if r.Has(journal.KindLanded, journal.KindLost, journal.KindBrokeOff) && !r.Has(journal.KindHookups) {
		r = r.With(journal.KindHookups)
	}
	return r
}

// kinds are the kinds that the counts of any place tell of.
func (t toldStint) kinds() map[journal.Kind]bool {
	kinds := map[journal.Kind]bool{}
	for _, values := range t.places {
		for key, text := range values {
			for _, kind := range kindsOf(key) {
				kinds[kind] = kinds[kind] || text != ""
			}
			if key == "broke-off" && strings.Contains(text, "=") {
				kinds[journal.KindBreakPlace] = true
			}
		}
	}
	return kinds
}
