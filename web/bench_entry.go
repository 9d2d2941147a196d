package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// pullPage is the form of a pull. For a new one the set-up of the last stays, so
// that only the force is typed and the ending pressed.
type pullPage struct {
	frame
	Problems problems
	New      bool
	Action   string
	ID       string
	Version  int
	Setup    string // the set-up in words; "" shows its fields at once
	Knot     choice
	Name     field
	Facing   choice
	Prop     choice
	Tippet   field
	Material choice
	On       choice
	Wetness  choice
	Tier     choice
	Day      field
	Label    field
	Scale    choice
	Force    field
	Note     field
	Endings  []ending
	Ended    choice    // of a pull that is changed
	Recent   []pullRow // of the set-up, the last first
	Tally    string
	Delete   string
	Safety   string
}

// ending is a button that says how a pull ended, and saves it.
type ending struct {
	Value, Text string
	First       bool
}

const unknotted = "unknotted"

// benchPullNew shows the form for the next pull, with the set-up of the one
// named in the address, else of the last.
func (s *Server) benchPullNew(w http.ResponseWriter, r *http.Request) error {
	id, err := journal.NewID()
	if err != nil {
		return err
	}
	fr, err := s.frame(r, "bench", "Record pulls")
	if err != nil {
		return err
	}
	asked := formOf(r.URL.Query(), fr.Units)
	pulls, err := s.store.BenchPulls(r.Context())
	if err != nil {
		return err
	}
	f := newForm(fr.Units)
	f.set("id", id.String())
	f.set("day", journal.DateOf(s.now()).String())
	f.set("scale", string(defaultScale(fr.Units)))
	if scale := asked.text("scale"); scaleUnit(scale) != "" {
		f.set("scale", scale)
	}
	if len(pulls) > 0 {
		last := pulls[len(pulls)-1]
		if after := asked.id("after"); after != nil {
			for _, p := range pulls {
				if p.ID == *after {
					last = p
				}
			}
		}
		f.fillSetup(last)
	}
	return s.showPull(w, r, http.StatusOK, fr, f, pulls, true)
}

// benchPull shows the form with a pull of the journal.
func (s *Server) benchPull(w http.ResponseWriter, r *http.Request) error {
	p, err := s.pullAt(r)
	if err != nil {
		return err
	}
	fr, err := s.frame(r, "bench", "Change a pull")
	if err != nil {
		return err
	}
	f := newForm(fr.Units)
	f.fillSetup(p)
	f.set("id", p.ID.String())
	f.set("version", strconv.Itoa(p.Version))
	f.set("day", p.Day.String())
	f.set("force", units.ExactForce(p.ForceN, fr.Units))
	f.set("note", p.Note)
	f.set("ended", endedValue(p))
	f.set("scale", string(defaultScale(fr.Units)))
	return s.showPull(w, r, http.StatusOK, fr, f, nil, false)
}

func (s *Server) pullAt(r *http.Request) (journal.BenchPull, error) {
	id, err := pathID(r)
	if err != nil {
		return journal.BenchPull{}, err
	}
	p, err := s.store.BenchPullByID(r.Context(), id)
	if err == nil && p.DeletedAt != nil {
		err = journal.ErrNotFound
	}
	return p, err
}

// benchPullAdd takes the form of a new pull and shows it again for the next.
func (s *Server) benchPullAdd(w http.ResponseWriter, r *http.Request) error {
	return s.savePull(w, r, "Record pulls", true)
}

// benchPullSave takes the form of a pull of the journal.
func (s *Server) benchPullSave(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.pullAt(r); err != nil {
		return err
	}
	return s.savePull(w, r, "Change a pull", false)
}

func (s *Server) savePull(w http.ResponseWriter, r *http.Request, title string, isNew bool) error {
	fr, err := s.frame(r, "bench", title)
	if err != nil {
		return err
	}
	f, err := readForm(r, fr.Units)
	if err != nil {
		return err
	}
	if !isNew {
		f.set("id", r.PathValue("id"))
	}
	p := f.readPull()
	then := "/bench/pulls?done=pull-saved"
	if isNew {
		then = "/bench/pulls/new?done=pull-recorded&after=" + p.ID.String() + "&scale=" + escape(f.text("scale"))
	}
	return saving{
		form: f,
		store: func() (string, error) {
			_, err := s.store.SaveBenchPull(r.Context(), p)
			return then, err
		},
		held: heldPull(fr.Units),
		again: func(status int) error {
			pulls, err := s.store.BenchPulls(r.Context())
			if err != nil {
				return err
			}
			return s.showPull(w, r, status, fr, f, pulls, isNew)
		},
	}.do(w, r)
}

// scaleUnit finds the unit in which the scale reads, "" for none that is known.
func scaleUnit(text string) units.Unit {
	u, ok := units.ParseUnit(units.Force, text)
	if !ok {
		return ""
	}
	return u
}

func defaultScale(sys units.System) units.Unit {
	if sys == units.US {
		return units.PoundForce
	}
	return units.Newton
}

func scaleOptions() []option {
	var list []option
	for _, u := range []struct {
		unit units.Unit
		text string
	}{{units.PoundForce, "pounds (lbf)"}, {units.KilogramForce, "kilograms (kgf)"}, {units.Newton, "newtons (N)"}, {units.OunceForce, "ounces (ozf)"}, {units.GramForce, "grams (gf)"}} {
		list = append(list, option{Value: string(u.unit), Text: u.text})
	}
	return list
}

// fillSetup takes over what a pull was, its force and ending aside.
func (f *form) fillSetup(p journal.BenchPull) {
	f.set("junction", string(p.Junction))
	if !p.Knotted() {
		f.set("junction", unknotted)
	}
	f.set("junction-name", p.JunctionName)
	f.set("facing", string(p.Facing))
	f.set("prop", string(p.Prop))
	f.set("tippet", units.ExactTippet(p.TippetMM))
	f.set("material", string(p.Material))
	f.set("pulled-on", string(p.PulledOn))
	f.set("wet", string(p.Wetness))
	f.set("label", p.Label)
	if p.AnglerID != nil {
		f.set("angler", p.AnglerID.String())
	}
}

// readPull turns the form into a pull.
func (f *form) readPull() journal.BenchPull {
	p := journal.BenchPull{Version: f.version(), Facing: journal.Facing(f.text("facing")), Prop: journal.Prop(f.text("prop")), Material: journal.Material(f.text("material")),
		PulledOn: journal.PulledOn(f.text("pulled-on")), Wetness: journal.Wetness(f.text("wet")), AnglerID: f.id("angler"), Label: f.text("label"), Note: f.text("note")}
	if id := f.id("id"); id != nil {
		p.ID = *id
	}
	if j := f.text("junction"); j == "" {
		f.fault("junction", "choose the junction, or a line without one")
	} else if j != unknotted {
		p.Junction = journal.Junction(j)
	}
	if p.Junction == journal.JunctionOther {
		p.JunctionName = f.text("junction-name")
		if p.JunctionName == "" {
			f.fault("junction-name", "name the junction")
		}
	}
	if !p.Knotted() {
		p.Facing, p.Prop, p.PulledOn = "", "", "" // left over from the knot before
	}
	if mm := f.tippet("tippet"); mm != nil {
		p.TippetMM = *mm
	} else if f.wrong("tippet") == "" {
		f.fault("tippet", "write the size, such as 6X or 0.127 mm")
	}
	if force := optional(f, "force", func(s string) (float64, error) { return units.ParseForce(s, scaleUnit(f.text("scale"))) }); force != nil {
		p.ForceN = *force
	} else if f.wrong("force") == "" {
		f.fault("force", "write the most that the scale showed")
	}
	if day := optional(f, "day", journal.ParseDate); day != nil {
		p.Day = *day
	} else if f.wrong("day") == "" {
		f.fault("day", "write the day")
	}
	p.Ending, p.BrokeAt = readEnded(f.text("ended"))
	if p.Ending == "" {
		f.fault("ended", "say how it ended")
	}
	return p
}

// endedValue writes how a pull ended as one word, readEnded reads it.
func endedValue(p journal.BenchPull) string {
	if p.BrokeAt != "" {
		return string(p.BrokeAt)
	}
	return string(p.Ending)
}

func readEnded(value string) (journal.PullEnding, journal.PullBreak) {
	if slices.Contains(journal.PullBreaks(), journal.PullBreak(value)) {
		return journal.PulledBroke, journal.PullBreak(value)
	}
	if slices.Contains(journal.PullEndings(), journal.PullEnding(value)) {
		return journal.PullEnding(value), ""
	}
	return "", ""
}

// endings are the ways a pull may end, the usual one first, which the Enter key chooses.
func endings(knotted bool) []ending {
	list := []ending{{Value: string(journal.PullBrokeJunction), Text: "Broke at the junction"}, {Value: string(journal.PullBrokeTag), Text: "Broke in the tag"},
		{Value: string(journal.PullBrokeMain), Text: "Broke in the main line"}, {Value: string(journal.PullBrokeGrip), Text: "Broke at the grip"},
		{Value: string(journal.PulledSlipped), Text: "Slipped"}, {Value: string(journal.PulledHeld), Text: "Did not break"}}
	if !knotted {
		list = []ending{{Value: string(journal.PullBrokeMain), Text: "Broke in the line"}, {Value: string(journal.PullBrokeGrip), Text: "Broke at the grip"}, {Value: string(journal.PulledHeld), Text: "Did not break"}}
	}
	list[0].First = true
	return list
}

func (s *Server) showPull(w http.ResponseWriter, r *http.Request, status int, fr frame, f *form, pulls []journal.BenchPull, isNew bool) error {
	p := pullPage{frame: fr, Problems: f.problems("Not saved yet. Please look at:"), New: isNew, ID: f.text("id"), Version: f.version(), Safety: prose.PullSafely,
		Action: "/bench/pulls", Endings: endings(f.text("junction") != unknotted)}
	knots := append([]option{{Text: "Choose"}, {Value: unknotted, Text: "None: a line without a knot"}}, vocabulary(journal.Junctions(), "")...)
	knots[len(knots)-1].Text = "Another, named below"
	anglers, err := s.store.Anglers(r.Context())
	if err != nil {
		return err
	}
	who := []option{{Text: notNoted}}
	for _, a := range anglers {
		if a.Active || a.ID.String() == f.text("angler") {
			who = append(who, option{Value: a.ID.String(), Text: a.Name})
		}
	}
	p.Knot = f.choose("junction", "Junction", "", knots)
	p.Name = f.input("junction-name", "If another, its name", "")
	p.Facing = f.choose("facing", "Facing", "", vocabulary(journal.Facings(), notNoted))
	p.Prop = f.choose("prop", "Prop", "", vocabulary(journal.Props(), notNoted))
	p.Tippet = f.input("tippet", "Tippet", "6X or 0.127 mm")
	p.Material = f.choose("material", "Material", "", vocabulary(journal.Materials(), notNoted))
	p.On = f.choose("pulled-on", "Pulled on", "", vocabulary(journal.PulledOns(), notNoted))
	p.Wetness = f.choose("wet", "Wet or dry", "", vocabulary(journal.Wetnesses(), notNoted))
	p.Tier = f.choose("angler", "Tied by", "", who)
	p.Day = f.input("day", "Day", "").typed("date")
	p.Label = f.input("label", "Label", "spool or batch")
	p.Scale = f.choose("scale", "The scale reads", "", scaleOptions())
	p.Force = f.input("force", "Force at the end, "+scaleUnit(f.text("scale")).Symbol(), "").keyboard("decimal")
	p.Note = f.input("note", "Note", "")
	if !isNew {
		p.Action += "/" + p.ID
		p.Delete = p.Action + "/delete"
		ways := []option{{Text: "Choose"}}
		for _, e := range endings(true) {
			ways = append(ways, option{Value: e.Value, Text: e.Text})
		}
		ways = append(ways, option{Value: string(journal.PulledBroke), Text: "Broke, place not noted"})
		p.Ended = f.choose("ended", "How it ended", "", ways)
		return s.render(w, status, "benchpull", p)
	}
	if err := s.setupSoFar(r, f, &p, pulls); err != nil {
		return err
	}
	return s.render(w, status, "benchpull", p)
}

// setupSoFar says the set-up in words and what it bore so far.
func (s *Server) setupSoFar(r *http.Request, f *form, p *pullPage, pulls []journal.BenchPull) error {
	trial := *f
	trial.faults = nil
	setup := trial.readPull()
	for _, w := range f.faults {
		if w.Field != "force" && w.Field != "ended" {
			return nil // the fields themselves are shown
		}
	}
	for _, w := range trial.faults {
		if w.Field != "force" && w.Field != "ended" {
			return nil
		}
	}
	names, err := s.tierNames(r)
	if err != nil {
		return err
	}
	words := []string{prose.PullSetup(setup)}
	if setup.AnglerID != nil {
		words = append(words, "tied by "+names[*setup.AnglerID])
	}
	if setup.Label != "" {
		words = append(words, setup.Label)
	}
	p.Setup = prose.Capital(strings.Join(words, " · "))
	n := 0
	for _, pull := range slices.Backward(pulls) {
		if !alikeSetup(pull, setup) {
			continue
		}
		n++
		if len(p.Recent) < 5 {
			p.Recent = append(p.Recent, pullRow{Href: "/bench/pulls/" + pull.ID.String(), Title: units.FormatForce(pull.ForceN, f.units) + ", " + prose.PullEnded(pull.Ending, pull.BrokeAt), Restore: "/bench/pulls/" + pull.ID.String() + "/delete"})
		}
	}
	p.Tally = prose.Plural(n, "pull", "pulls") + " of this set-up so far"
	return nil
}

// alikeSetup compares pulls in everything but force, ending, day and note.
func alikeSetup(a, b journal.BenchPull) bool {
	sameTier := a.AnglerID == nil && b.AnglerID == nil || a.AnglerID != nil && b.AnglerID != nil && *a.AnglerID == *b.AnglerID
	return sameTier && a.Junction == b.Junction && a.JunctionName == b.JunctionName && a.Facing == b.Facing && a.Prop == b.Prop && a.TippetMM == b.TippetMM &&
		a.Material == b.Material && a.PulledOn == b.PulledOn && a.Wetness == b.Wetness && a.Label == b.Label
}
