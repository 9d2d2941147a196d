package logging

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/field"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// logPage is the form of a session, ready to be shown.
type logPage struct {
	page.Frame
	Problems                          form.Problems
	Anew                              []form.Field // ids to store it under beside that
	Stored                            string       // address of what the journal holds instead, after a conflict
	ID, Version                       string
	NoRigs, Editing                   bool
	Doubtful                          bool // whether it is asked if all is so
	Confirmed                         form.Tick
	Angler, Guide, Water              form.Choice
	AnglerNew, WaterNew, Beat         form.Field
	Beats                             []string
	Day, Start, End, Breaks           form.Field
	NextDay                           form.Tick
	Conditions                        []form.Part
	Storm                             form.Tick
	Limits                            cautionLimits
	Notes                             form.Field
	NewOpen, ConditionsOpen, HasGuide bool
	Stints                            []stintView
	More                              bool // whether another stint can be added
	Action, Cancel                    string
	Blanks                            string // how they are read
}

// stintView is one stint of the form.
type stintView struct {
	Number       int
	ID           form.Field
	Rig          form.Choice
	Fished       []form.Part // time, stroke and what else there is
	Casts, Notes *form.Field
	Tags         []tagView
	Places       []placeView
	Noted        []notedView
	Remove       string // value of the button; "" when it is the only stint
	Counted      string // of what count was kept, for a stint that is edited
	Kept         []form.Tick
	KeptAsked    form.Field
	DetailsOpen  bool
}

// notedView is an event that says more than a counter can.
type notedView struct {
	Words        string
	Minute, Note form.Field
	Drop         form.Tick
}

// tagView is what can be noted of a fly and its tag in one stint.
type tagView struct {
	Title      string
	OnTag      bool
	Start, End form.Field
	Fly        form.Field
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
	Counters []form.Field
	Fields   []form.Field
}

func (s *Pages) showLog(w http.ResponseWriter, status int, fr page.Frame, f *entry, k known, was journal.Session) error {
	p := logPage{Frame: fr, Problems: f.Problems("Not saved yet. Please look at:"), ID: f.Text("id"), Version: f.Text("version"),
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
			p.Anew = append(p.Anew, f.Input(anewName(i), "", ""))
		}
	}
	p.Doubtful, p.Confirmed = f.doubtful || f.Checked("confirmed"), f.Tick("confirmed", "Yes, it is right as shown here")
	f.peopleView(&p, k)
	f.conditionsView(&p)
	for i := range f.stints() {
		p.Stints = append(p.Stints, f.stintView(i, k, was))
	}
	return s.Render(w, status, "log", p)
}

func (f *entry) peopleView(p *logPage, k known) {
	anglers, guides := []form.Option{{Text: "Choose"}}, []form.Option{{Text: "Nobody, or not noted"}}
	for _, a := range k.anglers {
		o := form.Option{Value: a.ID.String(), Text: a.Name}
		if a.Active || o.Value == f.Text("angler") {
			anglers = append(anglers, o)
		}
		if a.Kind == "guide" || o.Value == f.Text("guide") {
			guides = append(guides, o)
		}
	}
	waters := []form.Option{{Text: "Choose"}}
	for _, w := range k.waters {
		waters = append(waters, form.Option{Value: w.ID.String(), Text: w.Name})
		for _, b := range w.Beats {
			if !slices.Contains(p.Beats, b.Name) {
				p.Beats = append(p.Beats, b.Name)
			}
		}
	}
	p.Angler = f.Choose("angler", "Who fished", "", anglers)
	p.AnglerNew, p.WaterNew = f.Input("angler.new", "Someone new", ""), f.Input("water.new", "A new water", "")
	p.NewOpen = len(k.anglers) == 0 || len(k.waters) == 0 || p.AnglerNew.Value != "" || p.WaterNew.Value != ""
	p.Guide, p.HasGuide = f.Choose("guide", "Guided by", "", guides), len(guides) > 1
	p.Water = f.Choose("water", "Water", "", waters)
	p.Beat = f.Input("beat", "Beat, if any", "").Suggesting("beats")
	p.Day = f.Input("day", "Day", "").Typed("date")
	p.Start = f.Input("start", "Start", "").Typed("time")
	p.End = f.Input("end", "End", "").Typed("time")
	p.Breaks = f.Input("breaks", "Breaks", "minutes, taken off").Keyboard("numeric")
	for _, x := range []*form.Field{&p.Start, &p.End} {
		// A time that was not understood would vanish from an input of that type.
		if _, err := time.Parse("15:04", x.Value); x.Value != "" && err != nil {
			x.Type = "text"
		}
	}
	if _, err := journal.ParseDate(p.Day.Value); p.Day.Value != "" && err != nil {
		p.Day.Type = "text"
	}
	p.NextDay = f.Tick("next-day", "Ended after midnight, the next day")
}

func (f *entry) conditionsView(p *logPage) {
	p.Conditions = form.Parts(f.Form, form.Less(journal.SessionFields(), "storm", "session_notes"), form.Own)
	p.Limits = newCautionLimits(f.Units)
	p.Storm = f.Tick("storm", "Thunder or lightning")
	p.Notes = f.Input("notes", "Notes on the session", "")
	p.ConditionsOpen = p.ConditionsOpen || f.Wrong("next-day") != ""
	for _, x := range journal.SessionFields() {
		p.ConditionsOpen = p.ConditionsOpen || x.Kind != field.Text && f.Wrong(x.FormName()) != ""
	}
}

func (f *entry) stintView(i int, k known, was journal.Session) stintView {
	name := func(field string) string { return stintName(i, field) }
	id, _ := journal.ParseID(f.Text(name("rig")))
	rig, known := k.rig(id)
	var events []journal.Event
	for _, st := range was.Stints {
		if st.ID.String() == f.Text(name("id")) {
			events = st.Events
		}
	}
	v := stintView{Number: i + 1, ID: f.Input(name("id"), "", ""),
		Rig: f.Choose(name("rig"), "Rig", "", k.rigOptions(id, f.Units))}
	for _, part := range form.Parts(f.Form, journal.StintFields(), name) {
		switch part.Key {
		case "casts":
			v.Casts = part.Field
		case "notes":
			v.Notes = part.Field
		default:
			v.Fished = append(v.Fished, part)
		}
	}
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
		v.Noted = append(v.Noted, notedView{prose.Event(events[j], f.Units), f.Input(at+"minute", "Minute", "of the stint").Keyboard("numeric"),
			f.Input(at+"note", "Note", ""), f.Tick(name("drop."+strconv.Itoa(j)), "Take out")})
	}
	f.keptView(&v, i, was)
	for _, x := range []string{"casts", "notes"} {
		v.DetailsOpen = v.DetailsOpen || f.Text(name(x)) != ""
	}
	return v
}

// keptView offers to say of what count was kept, in a stint that the journal holds.
func (f *entry) keptView(v *stintView, i int, was journal.Session) {
	for _, st := range was.Stints {
		if st.ID.String() != v.ID.Value {
			continue
		}
		v.Counted, v.KeptAsked = countedWords(st.Recorded), f.Input(keptAsked(i), "", "")
		for _, k := range journal.Kinds() {
			v.Kept = append(v.Kept, f.Tick(keptName(i, k), prose.Capital(k.Title())))
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
	for name := range f.Values {
		field, ok := strings.CutPrefix(name, prefix)
		if ok && f.Text(name) != "" && (only == "" || field == only) {
			return true
		}
	}
	return false
}

func (f *entry) tagView(i, place int, p journal.RigPosition, astray bool) tagView {
	name := func(field string) string { return stintName(i, placeName(place)+field) }
	tied := f.Unit(units.Inch, units.Millimetre)
	if p.TagLengthMM != nil {
		tied = "as tied: " + units.FormatLength(*p.TagLengthMM, f.Units)
	}
	fly := ""
	if p.Fly != "" {
		fly = "as tied: " + p.Fly
	}
	v := tagView{Title: prose.Position(place), OnTag: p.Hang == journal.HangTag || f.anyAt(i, place, "start") || f.anyAt(i, place, "end"), Astray: astray,
		Start: f.Input(name("start"), "Tag at the start", tied), End: f.Input(name("end"), "Tag at the end", ""),
		Fly: f.Input(name("fly"), "Fly, if another", fly)}
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
			sv.Counters = append(sv.Counters, f.Counter(name(c.key), c.label))
			switch c.key {
			case keyCheck:
				sv.Counters = append(sv.Counters, f.Counter(name("turns"), "Turns seen, in all checks"))
			case "tangle":
				sv.Counters = append(sv.Counters, f.Counter(name("minutes-lost"), "Minutes lost to tangles"))
			case keyFlyChange:
				sv.Fields = append(sv.Fields, f.Input(name("cut"), "Tag cut at each change", f.Unit(units.Inch, units.Millimetre)))
			case keyRetie:
				sv.Counters = append(sv.Counters, f.Counter(name("re-tie-minutes"), "Minutes spent re-tying"))
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
