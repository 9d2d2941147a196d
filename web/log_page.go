package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// logPage is the form of a session, ready to be shown.
type logPage struct {
	frame
	Problems                          problems
	Anew                              []field // ids to store it under beside that
	Stored                            string  // address of what the journal holds instead, after a conflict
	ID, Version                       string
	NoRigs, Editing                   bool
	Doubtful                          bool // whether it is asked if all is so
	Confirmed                         tick
	Angler, Guide, Water              choice
	AnglerNew, WaterNew, Beat         field
	Beats                             []string
	Day, Start, End, Breaks           field
	NextDay                           tick
	Temp, Flow, Stage, Depth          field
	Velocity                          field
	Storm                             tick
	Limits                            cautionLimits
	Clarity, Wind, Light              choice
	Notes                             field
	NewOpen, ConditionsOpen, HasGuide bool
	Stints                            []stintView
	More                              bool // whether another stint can be added
	Action, Cancel                    string
	Blanks                            string // how they are read
}

// stintView is one stint of the form.
type stintView struct {
	Number         int
	ID             field
	Rig            choice
	Minutes, Casts field
	Stroke         choice
	Notes          field
	Tags           []tagView
	Places         []placeView
	Noted          []notedView
	Remove         string // value of the button; "" when it is the only stint
	Counted        string // of what count was kept, for a stint that is edited
	Kept           []tick
	KeptAsked      field
	DetailsOpen    bool
}

// notedView is an event that says more than a counter can.
type notedView struct {
	Words        string
	Minute, Note field
	Drop         tick
}

// tagView is what can be noted of a fly and its tag in one stint.
type tagView struct {
	Title      string
	OnTag      bool
	Start, End field
	Fly        field
	Astray     bool // the chosen rig has no such position
}

// placeView is the counters of one place on the rig.
type placeView struct {
	Title    string
	Whole    bool
	Open     bool
	Astray   bool
	Sections []sectionView
}

type sectionView struct {
	Title    string
	Open     bool
	Counters []field
	Fields   []field
}

func (s *Server) showLog(w http.ResponseWriter, status int, fr frame, f *entry, k known, was journal.Session) error {
	p := logPage{frame: fr, Problems: f.problems("Not saved yet. Please look at:"), ID: f.text("id"), Version: f.text("version"),
		NoRigs: len(k.rigs) == 0, Editing: !was.ID.IsZero(), Action: "/log", Cancel: "/", More: f.stints() < maxStints, Blanks: blanks}
	if p.Editing {
		p.Cancel = "/sessions/" + was.ID.String()
		p.Action = p.Cancel + "/edit"
	}
	if !f.stored.IsZero() {
		p.Stored = "/sessions/" + f.stored.String()
	}
	if f.anewOffered {
		for i := range f.stints() + 1 {
			p.Anew = append(p.Anew, f.input(anewName(i), "", ""))
		}
	}
	p.Doubtful, p.Confirmed = f.doubtful || f.checked("confirmed"), f.tick("confirmed", "Yes, it is so as it stands here")
	f.peopleView(&p, k)
	f.conditionsView(&p)
	for i := range f.stints() {
		p.Stints = append(p.Stints, f.stintView(i, k, was))
	}
	return s.render(w, status, "log", p)
}

func (f *entry) peopleView(p *logPage, k known) {
	anglers, guides := []option{{Text: "Choose"}}, []option{{Text: "Nobody, or not noted"}}
	for _, a := range k.anglers {
		o := option{Value: a.ID.String(), Text: a.Name}
		if a.Active || o.Value == f.text("angler") {
			anglers = append(anglers, o)
		}
		if a.Kind == "guide" || o.Value == f.text("guide") {
			guides = append(guides, o)
		}
	}
	waters := []option{{Text: "Choose"}}
	for _, w := range k.waters {
		waters = append(waters, option{Value: w.ID.String(), Text: w.Name})
		for _, b := range w.Beats {
			if !slices.Contains(p.Beats, b.Name) {
				p.Beats = append(p.Beats, b.Name)
			}
		}
	}
	p.Angler = f.choose("angler", "Who fished", "", anglers)
	p.AnglerNew, p.WaterNew = f.input("angler.new", "Someone new", ""), f.input("water.new", "A new water", "")
	p.NewOpen = len(k.anglers) == 0 || len(k.waters) == 0 || p.AnglerNew.Value != "" || p.WaterNew.Value != ""
	p.Guide, p.HasGuide = f.choose("guide", "Guided by", "", guides), len(guides) > 1
	p.Water = f.choose("water", "Water", "", waters)
	p.Beat = f.input("beat", "Beat, if any", "").suggesting("beats")
	p.Day = f.input("day", "Day", "").typed("date")
	p.Start = f.input("start", "Start", "").typed("time")
	p.End = f.input("end", "End", "").typed("time")
	p.Breaks = f.input("breaks", "Breaks", "minutes, taken off").keyboard("numeric")
	for _, x := range []*field{&p.Start, &p.End} {
		// A time that was not understood would vanish from an input of that type.
		if _, err := time.Parse("15:04", x.Value); x.Value != "" && err != nil {
			x.Type = "text"
		}
	}
	if _, err := journal.ParseDate(p.Day.Value); p.Day.Value != "" && err != nil {
		p.Day.Type = "text"
	}
	p.NextDay = f.tick("next-day", "Ended after midnight, the next day")
}

func (f *entry) conditionsView(p *logPage) {
	p.Temp = f.input("temp", "Water temperature", "").taken(f.unit(units.Fahrenheit, units.Celsius)).keyboard("decimal")
	p.Flow = f.input("flow", "Flow", f.unit(units.CubicFootPerSecond, units.CubicMetrePerSecond)).keyboard("decimal")
	p.Stage = f.input("stage", "Stage, at the gauge", f.unit(units.Foot, units.Metre)).keyboard("decimal")
	p.Depth = f.input("depth", "Depth fished", "").taken(f.unit(units.Foot, units.Metre)).keyboard("decimal")
	p.Velocity = f.input("velocity", "Speed of the water", "").taken(f.unit(units.FootPerSecond, units.MetrePerSecond)).keyboard("decimal")
	p.Limits = newCautionLimits(f.units)
	p.Storm = f.tick("storm", "Thunder or lightning")
	p.Clarity = f.choose("clarity", "Clarity", "", vocabulary(journal.Clarities(), notNoted))
	p.Wind = f.choose("wind", "Wind", "", vocabulary(journal.Winds(), notNoted))
	p.Light = f.choose("light", "Light", "", vocabulary(journal.Lights(), notNoted))
	p.Notes = f.input("notes", "Notes on the session", "")
	for _, name := range []string{"temp", "flow", "stage", "depth", "velocity", "storm", "clarity", "wind", "light", "next-day"} {
		p.ConditionsOpen = p.ConditionsOpen || f.wrong(name) != ""
	}
}

func (f *entry) stintView(i int, k known, was journal.Session) stintView {
	name := func(field string) string { return stintName(i, field) }
	id, _ := journal.ParseID(f.text(name("rig")))
	rig, known := k.rig(id)
	var events []journal.Event
	for _, st := range was.Stints {
		if st.ID.String() == f.text(name("id")) {
			events = st.Events
		}
	}
	v := stintView{Number: i + 1, ID: f.input(name("id"), "", ""),
		Rig:     f.choose(name("rig"), "Rig", "", k.rigOptions(id, f.units)),
		Minutes: f.input(name("minutes"), "Time fished", "minutes, or 1h30; blank: start to end").keyboard("numeric"),
		Casts:   f.input(name("casts"), "Casts", "if counted").keyboard("numeric"),
		Stroke:  f.choose(name("stroke"), "Stroke", "", vocabulary(journal.Strokes(), notNoted)),
		Notes:   f.input(name("notes"), "Notes on the stint", "")}
	if f.stints() > 1 {
		v.Remove = "remove-" + strconv.Itoa(i)
	}
	for _, place := range f.placesToShow(i, rig, events) {
		p, on := rig.At(place)
		astray := place != wholeRig && !on && known
		if place != wholeRig {
			v.Tags = append(v.Tags, f.tagView(i, place, p, astray))
		}
		v.Places = append(v.Places, f.placeView(i, place, astray))
	}
	for _, j := range noted(events) {
		at := notedName(i, j)
		v.Noted = append(v.Noted, notedView{prose.Event(events[j], f.units), f.input(at+"minute", "Minute", "of the stint").keyboard("numeric"),
			f.input(at+"note", "Note", ""), f.tick(name("drop."+strconv.Itoa(j)), "Take out")})
	}
	f.keptView(&v, i, was)
	for _, x := range []string{"casts", "notes"} {
		v.DetailsOpen = v.DetailsOpen || f.text(name(x)) != ""
	}
	return v
}

// keptView offers to say of what count was kept, in a stint that the journal holds.
func (f *entry) keptView(v *stintView, i int, was journal.Session) {
	for _, st := range was.Stints {
		if st.ID.String() != v.ID.Value {
			continue
		}
		v.Counted, v.KeptAsked = countedWords(st.Recorded), f.input(keptAsked(i), "", "")
		for _, k := range journal.Kinds() {
			v.Kept = append(v.Kept, f.tick(keptName(i, k), prose.Capital(k.Title())))
		}
	}
}

// placesToShow lists the places of the rig, and others where something was entered.
func (f *entry) placesToShow(i int, rig journal.Rig, events []journal.Event) []int {
	list := stintPlaces(rig, nil)
	for place := range 10 {
		if !slices.Contains(list, place) && (f.anyAt(i, place, "") || len(amountsAt(events, place).n) > 0) {
			list = append(list, place)
		}
	}
	slices.Sort(list)
	return list
}

// anyAt reports whether anything is entered for a place of a stint.
func (f *entry) anyAt(i, place int, only string) bool {
	prefix := stintName(i, placeName(place))
	for name := range f.values {
		field, ok := strings.CutPrefix(name, prefix)
		if ok && f.text(name) != "" && (only == "" || field == only) {
			return true
		}
	}
	return false
}

// rigOptions offers the latest revision of every rig, and the chosen one.
func (k known) rigOptions(chosen journal.ID, sys units.System) []option {
	latest := map[string]int{}
	for _, r := range k.rigs {
		key := strings.ToLower(r.Name)
		latest[key] = max(latest[key], r.Revision)
	}
	list := []option{{Text: "Choose"}}
	for _, r := range k.rigs {
		if r.Revision == latest[strings.ToLower(r.Name)] || r.ID == chosen {
			list = append(list, option{Value: r.ID.String(), Text: prose.Rig(r, sys)})
		}
	}
	return list
}

func (f *entry) tagView(i, place int, p journal.RigPosition, astray bool) tagView {
	name := func(field string) string { return stintName(i, placeName(place)+field) }
	tied := f.unit(units.Inch, units.Millimetre)
	if p.TagLengthMM != nil {
		tied = "as tied: " + units.FormatLength(*p.TagLengthMM, f.units)
	}
	fly := ""
	if p.Fly != "" {
		fly = "as tied: " + p.Fly
	}
	v := tagView{Title: prose.Position(place), OnTag: p.Hang == journal.HangTag || f.anyAt(i, place, "start") || f.anyAt(i, place, "end"), Astray: astray,
		Start: f.input(name("start"), "Tag at the start", tied), End: f.input(name("end"), "Tag at the end", ""),
		Fly: f.input(name("fly"), "Fly, if another", fly)}
	return v
}

func (f *entry) placeView(i, place int, astray bool) placeView {
	name := func(field string) string { return stintName(i, placeName(place)+field) }
	v := placeView{Title: "The whole rig, or no fly in particular", Whole: place == wholeRig, Astray: astray}
	if !v.Whole {
		v.Title = "On " + journal.PositionTitle(place) + " only"
	}
	for _, s := range sections() {
		sv := sectionView{Title: s.title}
		for _, c := range s.cells {
			sv.Counters = append(sv.Counters, f.counter(name(c.key), c.label))
			switch c.key {
			case keyCheck:
				sv.Counters = append(sv.Counters, f.counter(name("turns"), "Turns seen, in all checks"))
			case "tangle":
				sv.Counters = append(sv.Counters, f.counter(name("minutes-lost"), "Minutes lost to tangles"))
			case keyFlyChange:
				sv.Fields = append(sv.Fields, f.input(name("cut"), "Tag cut at each change", f.unit(units.Inch, units.Millimetre)))
			case keyRetie:
				sv.Counters = append(sv.Counters, f.counter(name("re-tie-minutes"), "Minutes spent re-tying"))
			}
		}
		for _, x := range append(slices.Clone(sv.Counters), sv.Fields...) {
			sv.Open = sv.Open || x.Value != "" && x.Value != "0" || x.Wrong != ""
		}
		v.Open = v.Open || sv.Open
		v.Sections = append(v.Sections, sv)
	}
	return v
}
