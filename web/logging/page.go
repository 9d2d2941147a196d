package logging

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

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
	Form                    *entry
	Anew                    []form.Field // ids to store it under beside that
	Stored                  string       // address of what the journal holds instead, after a conflict
	NoRigs                  bool
	Doubtful                bool // whether it is asked if all is so
	Anglers, Guides, Waters []form.Option
	Beats                   []string
	Conditions              []form.Part
	Limits                  cautionLimits
	NewOpen, ConditionsOpen bool
	Stints                  []stintView
	More                    bool       // whether another stint can be added
	Moved                   *form.Tick // to the zone of its water, which is another one now
	Action, Cancel          string
	Blanks                  string // how they are read
}

// stintView is one stint of the form.
type stintView struct {
	Number       int
	ID           form.Field
	Rig          form.Choice
	Fished       []form.Part // time
	Further      []form.Part // stroke and what else there is
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
	p := logPage{Frame: fr, Form: f, NoRigs: len(k.rigs) == 0, Action: "/log", Cancel: "/", More: f.stints() < maxStints, Blanks: blanks, Limits: newCautionLimits(f.Units),
		Conditions: form.Parts(f.Form, form.Less(journal.SessionFields(), "storm", "session_notes"), form.Own)}
	if !was.ID.IsZero() {
		p.Cancel = "/sessions/" + was.ID.String()
		p.Action = p.Cancel + "/edit"
		if w, ok := k.water(was.WaterID); ok && w.TimeZone != was.TimeZone {
			p.Moved = new(f.Tick("moved", "These times are in "+w.TimeZone+" time, as "+w.Name+" is set now, not in "+was.TimeZone))
		}
	}
	if !f.stored.IsZero() {
		p.Stored = "/sessions/" + f.stored.String()
	}
	if f.anewOffered {
		for i := range f.stints() + 1 {
			p.Anew = append(p.Anew, f.Input(anewName(i), "", ""))
		}
	}
	p.Doubtful = f.doubtful || f.Checked("confirmed")
	f.offer(&p, k)
	p.ConditionsOpen = f.Wrong("next-day") != ""
	for _, x := range journal.SessionFields() {
		p.ConditionsOpen = p.ConditionsOpen || x.Kind != field.Text && f.Wrong(x.FormName()) != ""
	}
	for i := range f.stints() {
		p.Stints = append(p.Stints, f.stintView(i, k, was))
	}
	return s.Render(w, status, "log", p)
}

// offer lists who and where there is to choose from.
func (f *entry) offer(p *logPage, k known) {
	p.Anglers, p.Waters = form.Offer("Choose", f.Fishing("angler", k.anglers), form.Angler), form.Offer("Choose", k.waters, form.Water)
	p.Guides = form.Offer("Nobody, or not noted", slices.DeleteFunc(slices.Clone(k.anglers), func(a journal.Angler) bool { return a.Kind != journal.Guiding && a.ID.String() != f.Text("guide") }), form.Angler)
	for _, w := range k.waters {
		for _, b := range w.Beats {
			if !slices.Contains(p.Beats, b.Name) {
				p.Beats = append(p.Beats, b.Name)
			}
		}
	}
	p.NewOpen = len(k.anglers) == 0 || len(k.waters) == 0 || f.Values.Get("angler.new") != "" || f.Values.Get("water.new") != "" ||
		f.Text("beat") != "" || f.Text("breaks") != "" || f.Wrong("beat") != "" || f.Wrong("breaks") != ""
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
		case "minutes":
			v.Fished = append(v.Fished, part)
		default:
			v.Further = append(v.Further, part)
			v.DetailsOpen = v.DetailsOpen || part.Field != nil && (part.Field.Value != "" || part.Field.Wrong != "") || part.Choice != nil && f.Text(part.Choice.Name) != ""
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
