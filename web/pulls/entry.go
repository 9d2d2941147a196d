package pulls

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pullPage is the form of a pull. For a new one the set-up of the last stays, so
// that only the force is typed and the ending pressed.
type pullPage struct {
	page.Frame
	Problems form.Problems
	New      bool
	Action   string
	ID       string
	Version  int
	Setup    string // the set-up in words; "" shows its fields at once
	Knot     form.Choice
	Name     form.Field
	Facing   form.Choice
	Prop     form.Choice
	Tippet   form.Field
	Material form.Choice
	On       form.Choice
	Wetness  form.Choice
	Tier     form.Choice
	Day      form.Field
	Label    form.Field
	Scale    form.Choice
	Force    form.Field
	Note     form.Field
	Endings  []ending
	Ended    form.Choice // of a pull that is changed
	Recent   []pullRow   // of the set-up, the last first
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
func (s *pages) benchPullNew(w http.ResponseWriter, r *http.Request) error {
	id := journal.NewID()
	fr, err := s.Frame(r, "bench", "Record pulls")
	if err != nil {
		return err
	}
	asked := form.Of(r.URL.Query(), fr.Units)
	pulls, err := s.Store.BenchPulls(r.Context())
	if err != nil {
		return err
	}
	f := form.New(fr.Units)
	f.Set("id", id.String())
	f.Set("day", journal.DateOf(s.Now()).String())
	f.Set("scale", string(defaultScale(fr.Units)))
	if scale := asked.Text("scale"); scaleUnit(scale) != "" {
		f.Set("scale", scale)
	}
	if len(pulls) > 0 {
		last := pulls[len(pulls)-1]
		if after := asked.ID("after"); after != nil {
			for _, p := range pulls {
				if p.ID == *after {
					last = p
				}
			}
		}
		fillSetup(f, last)
	}
	return s.showPull(w, r, http.StatusOK, fr, f, pulls, true)
}

// benchPull shows the form with a pull of the journal.
func (s *pages) benchPull(w http.ResponseWriter, r *http.Request) error {
	p, err := s.pullAt(r)
	if err != nil {
		return err
	}
	fr, err := s.Frame(r, "bench", "Change a pull")
	if err != nil {
		return err
	}
	f := form.New(fr.Units)
	fillSetup(f, p)
	f.Set("id", p.ID.String())
	f.Set("version", strconv.Itoa(p.Version))
	f.Set("day", p.Day.String())
	f.Set("force", units.Exact(units.Force, p.ForceN, fr.Units))
	f.Set("note", p.Note)
	f.Set("ended", endedValue(p))
	f.Set("scale", string(defaultScale(fr.Units)))
	return s.showPull(w, r, http.StatusOK, fr, f, nil, false)
}

func (s *pages) pullAt(r *http.Request) (journal.BenchPull, error) {
	p, err := page.At(r, s.Store.BenchPullByID)
	if err == nil && p.DeletedAt != nil {
		err = journal.ErrNotFound
	}
	return p, err
}

// benchPullAdd takes the form of a new pull and shows it again for the next.
func (s *pages) benchPullAdd(w http.ResponseWriter, r *http.Request) error {
	return s.savePull(w, r, "Record pulls", true)
}

// benchPullSave takes the form of a pull of the journal.
func (s *pages) benchPullSave(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.pullAt(r); err != nil {
		return err
	}
	return s.savePull(w, r, "Change a pull", false)
}

func (s *pages) savePull(w http.ResponseWriter, r *http.Request, title string, isNew bool) error {
	fr, err := s.Frame(r, "bench", title)
	if err != nil {
		return err
	}
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	if !isNew {
		f.Set("id", r.PathValue("id"))
	}
	p := readPull(f)
	then := "/bench/pulls?done=pull-saved"
	if isNew {
		then = "/bench/pulls/new?done=pull-recorded&after=" + p.ID.String() + "&scale=" + url.QueryEscape(f.Text("scale"))
	}
	return page.Saving{
		Form: f,
		Store: func() (string, error) {
			_, err := s.Store.SaveBenchPull(r.Context(), p)
			return then, err
		},
		Held: heldPull(fr.Units),
		Again: func(status int) error {
			pulls, err := s.Store.BenchPulls(r.Context())
			if err != nil {
				return err
			}
			return s.showPull(w, r, status, fr, f, pulls, isNew)
		},
	}.Do(w, r)
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

func scaleOptions() []form.Option {
	var list []form.Option
	for _, u := range []struct {
		unit units.Unit
		text string
	}{{units.PoundForce, "pounds (lbf)"}, {units.KilogramForce, "kilograms (kgf)"}, {units.Newton, "newtons (N)"}, {units.OunceForce, "ounces (ozf)"}, {units.GramForce, "grams (gf)"}} {
		list = append(list, form.Option{Value: string(u.unit), Text: u.text})
	}
	return list
}

// fillSetup takes over what a pull was, its force and ending aside.
func fillSetup(f *form.Form, p journal.BenchPull) {
	f.Set("junction", string(p.Junction))
	if !p.Knotted() {
		f.Set("junction", unknotted)
	}
	f.Set("junction-name", p.JunctionName)
	f.Set("facing", string(p.Facing))
	f.Set("prop", string(p.Prop))
	f.Set("tippet", units.ExactTippet(p.TippetMM))
	f.Set("material", string(p.Material))
	f.Set("pulled-on", string(p.PulledOn))
	f.Set("wet", string(p.Wetness))
	f.Set("label", p.Label)
	if p.AnglerID != nil {
		f.Set("angler", p.AnglerID.String())
	}
}

// readPull turns the form into a pull.
func readPull(f *form.Form) journal.BenchPull {
	p := journal.BenchPull{Version: f.Version(), Facing: journal.Facing(f.Text("facing")), Prop: journal.Prop(f.Text("prop")), Material: journal.Material(f.Text("material")),
		PulledOn: journal.PulledOn(f.Text("pulled-on")), Wetness: journal.Wetness(f.Text("wet")), AnglerID: f.ID("angler"), Label: f.Text("label"), Note: f.Text("note")}
	if id := f.ID("id"); id != nil {
		p.ID = *id
	}
	if j := f.Text("junction"); j == "" {
		f.Fault("junction", "choose the junction, or a line without one")
	} else if j != unknotted {
		p.Junction = journal.Junction(j)
	}
	if p.Junction == journal.JunctionOther {
		p.JunctionName = f.Text("junction-name")
		if p.JunctionName == "" {
			f.Fault("junction-name", "name the junction")
		}
	}
	if !p.Knotted() {
		p.Facing, p.Prop, p.PulledOn = "", "", "" // left over from the knot before
	}
	if mm := f.Tippet("tippet"); mm != nil {
		p.TippetMM = *mm
	} else if f.Wrong("tippet") == "" {
		f.Fault("tippet", "write the size, such as 6X or 0.127 mm")
	}
	if force := form.Optional(f, "force", func(s string) (float64, error) { return units.Parse(units.Force, s, scaleUnit(f.Text("scale"))) }); force != nil {
		p.ForceN = *force
	} else if f.Wrong("force") == "" {
		f.Fault("force", "write the most that the scale showed")
	}
	if day := form.Optional(f, "day", journal.ParseDate); day != nil {
		p.Day = *day
	} else if f.Wrong("day") == "" {
		f.Fault("day", "write the day")
	}
	p.Ending, p.BrokeAt = readEnded(f.Text("ended"))
	if p.Ending == "" {
		f.Fault("ended", "say how it ended")
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

func (s *pages) showPull(w http.ResponseWriter, r *http.Request, status int, fr page.Frame, f *form.Form, pulls []journal.BenchPull, isNew bool) error {
	p := pullPage{Frame: fr, Problems: f.Problems("Not saved yet. Please look at:"), New: isNew, ID: f.Text("id"), Version: f.Version(), Safety: prose.PullSafely,
		Action: "/bench/pulls", Endings: endings(f.Text("junction") != unknotted)}
	knots := append([]form.Option{{Text: "Choose"}, {Value: unknotted, Text: "None: a line without a knot"}}, form.Vocabulary(journal.Junctions(), "")...)
	knots[len(knots)-1].Text = "Another, named below"
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	who := []form.Option{{Text: form.NotNoted}}
	for _, a := range anglers {
		if a.Active || a.ID.String() == f.Text("angler") {
			who = append(who, form.Option{Value: a.ID.String(), Text: a.Name})
		}
	}
	p.Knot = f.Choose("junction", "Junction", "", knots)
	p.Name = f.Input("junction-name", "If another, its name", "")
	p.Facing = f.Choose("facing", "Facing", "", form.Vocabulary(journal.Facings(), form.NotNoted))
	p.Prop = f.Choose("prop", "Prop", "", form.Vocabulary(journal.Props(), form.NotNoted))
	p.Tippet = f.Input("tippet", "Tippet", "6X or 0.127 mm")
	p.Material = f.Choose("material", "Material", "", form.Vocabulary(journal.Materials(), form.NotNoted))
	p.On = f.Choose("pulled-on", "Pulled on", "", form.Vocabulary(journal.PulledOns(), form.NotNoted))
	p.Wetness = f.Choose("wet", "Wet or dry", "", form.Vocabulary(journal.Wetnesses(), form.NotNoted))
	p.Tier = f.Choose("angler", "Tied by", "", who)
	p.Day = f.Input("day", "Day", "").Typed("date")
	p.Label = f.Input("label", "Label", "spool or batch")
	p.Scale = f.Choose("scale", "The scale reads", "", scaleOptions())
	p.Force = f.Input("force", "Force at the end, "+scaleUnit(f.Text("scale")).Symbol(), "").Keyboard("decimal")
	p.Note = f.Input("note", "Note", "")
	if !isNew {
		p.Action += "/" + p.ID
		p.Delete = p.Action + "/delete"
		ways := []form.Option{{Text: "Choose"}}
		for _, e := range endings(true) {
			ways = append(ways, form.Option{Value: e.Value, Text: e.Text})
		}
		ways = append(ways, form.Option{Value: string(journal.PulledBroke), Text: "Broke, place not noted"})
		p.Ended = f.Choose("ended", "How it ended", "", ways)
		return s.Render(w, status, "benchpull", p)
	}
	if err := s.setupSoFar(r, f, &p, pulls); err != nil {
		return err
	}
	return s.Render(w, status, "benchpull", p)
}

// setupSoFar says the set-up in words and what it bore so far.
func (s *pages) setupSoFar(r *http.Request, f *form.Form, p *pullPage, pulls []journal.BenchPull) error {
	trial := form.Of(f.Values, f.Units)
	setup := readPull(trial)
	for _, w := range f.Faults {
		if w.Field != "force" && w.Field != "ended" {
			return nil // the fields themselves are shown
		}
	}
	for _, w := range trial.Faults {
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
			p.Recent = append(p.Recent, pullRow{Href: "/bench/pulls/" + pull.ID.String(), Title: units.Format(units.Force, pull.ForceN, f.Units) + ", " + prose.PullEnded(pull.Ending, pull.BrokeAt), Restore: "/bench/pulls/" + pull.ID.String() + "/delete"})
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

func heldPull(sys units.System) func(any) string {
	return func(held any) string {
		p, ok := held.(journal.BenchPull)
		if !ok {
			return ""
		}
		return "The journal’s is " + prose.PullKnot(p) + ", " + units.Format(units.Force, p.ForceN, sys) + ", " + prose.PullEnded(p.Ending, p.BrokeAt) + "."
	}
}
