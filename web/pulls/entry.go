package pulls

import (
	"cmp"
	"net/http"
	"net/url"
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

// pullPage is the form of a pull. For a new one the set-up of the last stays, so
// that only the force is typed and the ending pressed.
type pullPage struct {
	page.Frame
	Form    *form.Form
	New     bool
	Action  string
	Setup   string // the set-up in words; "" shows its fields at once
	Knots   []form.Option
	Tiers   []form.Option
	Scales  []form.Option
	Scale   string // its unit
	Endings []form.Option
	Recent  []pullRow // of the set-up, the last first
	Tally   string
	Safety  string
}

const unknotted = "unknotted"

// benchPullNew shows the form for the next pull, with the set-up of the one
// named in the address, else of the last.
func (s *pages) benchPullNew(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	id, err := journal.NewID()
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
		after := form.Or0(asked.ID("after"))
		if i := slices.IndexFunc(pulls, func(p journal.BenchPull) bool { return p.ID == after }); i >= 0 {
			last = pulls[i]
		}
		fillPull(f, last, setupFields())
	}
	return s.showPull(w, r, http.StatusOK, fr, f, pulls, true)
}

// benchPull shows the form with a pull of the journal.
func (s *pages) benchPull(w http.ResponseWriter, r *http.Request, fr page.Frame, p journal.BenchPull) error {
	f := form.New(fr.Units)
	fillPull(f, p, journal.PullFields())
	f.Set("id", p.ID.String())
	f.Set("version", strconv.Itoa(p.Version))
	f.Set("day", p.Day.String())
	f.Set("ended", cmp.Or(string(p.BrokeAt), string(p.Ending)))
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
func (s *pages) benchPullAdd(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	return s.savePull(w, r, fr, true)
}

// benchPullSave takes the form of a pull of the journal.
func (s *pages) benchPullSave(w http.ResponseWriter, r *http.Request, fr page.Frame, _ journal.BenchPull) error {
	return s.savePull(w, r, fr, false)
}

func (s *pages) savePull(w http.ResponseWriter, r *http.Request, fr page.Frame, isNew bool) error {
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

// setupFields are what pulls of one set-up have in common.
func setupFields() []field.Field[journal.BenchPull] {
	return form.Less(journal.PullFields(), "force", "ending", "broke_at", "note")
}

// fillPull takes over what a pull was.
func fillPull(f *form.Form, p journal.BenchPull, fields []field.Field[journal.BenchPull]) {
	form.Fill(f, fields, &p, form.Own)
	if !p.Knotted() {
		f.Set("junction", unknotted)
	}
	f.Set("angler", form.Shown(p.AnglerID, journal.ID.String))
}

// readPull turns the form into a pull.
func readPull(f *form.Form) journal.BenchPull {
	p := journal.BenchPull{ID: form.Or0(f.ID("id")), Version: f.Version(), AnglerID: f.ID("angler"), Note: f.Text("note")}
	knot := f.Text("junction")
	switch {
	case knot == "":
		f.Fault("junction", "choose the junction, or a line without one")
	case knot == string(journal.JunctionOther) && f.Text("junction-name") == "":
		f.Fault("junction-name", "name the junction")
	}
	form.Take(f, setupFields(), &p, form.Own)
	if knot == "" || knot == unknotted {
		p.Junction, p.Facing, p.Prop, p.PulledOn = "", "", "", "" // left over from the knot before
	}
	if p.Junction != journal.JunctionOther {
		p.JunctionName = ""
	}
	if p.TippetMM == 0 && f.Wrong("tippet") == "" {
		f.Fault("tippet", "write the size, such as 6X or 0.127 mm")
	}
	p.ForceN = form.Needed(f, "force", "write the most that the scale showed", func(s string) (float64, error) { return units.ParseForce(s, scaleUnit(f.Text("scale"))) })
	p.Day = form.Needed(f, "day", "write the day", journal.ParseDate)
	p.Ending, p.BrokeAt = readEnded(f.Text("ended"))
	if p.Ending == "" {
		f.Fault("ended", "say how it ended")
	}
	return p
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
func endings(knotted bool) []form.Option {
	if !knotted {
		return form.Pairs(string(journal.PullBrokeMain), "Broke in the line", string(journal.PullBrokeGrip), "Broke at the grip", string(journal.PulledHeld), "Did not break")
	}
	return form.Pairs(string(journal.PullBrokeJunction), "Broke at the junction", string(journal.PullBrokeTag), "Broke in the tag", string(journal.PullBrokeMain), "Broke in the main line",
		string(journal.PullBrokeGrip), "Broke at the grip", string(journal.PulledSlipped), "Slipped", string(journal.PulledHeld), "Did not break")
}

func (s *pages) showPull(w http.ResponseWriter, r *http.Request, status int, fr page.Frame, f *form.Form, pulls []journal.BenchPull, isNew bool) error {
	anglers, err := s.Store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p := pullPage{Frame: fr, Form: f, New: isNew, Safety: prose.PullSafely, Action: "/bench/pulls", Endings: endings(f.Text("junction") != unknotted),
		Knots:  slices.Concat(form.Pairs("", "Choose", unknotted, "None: a line without a knot"), form.Vocabulary(journal.Junctions(), "")),
		Tiers:  form.Offer(form.NotNoted, f.Fishing("angler", anglers), form.Angler),
		Scales: form.Pairs(string(units.PoundForce), "pounds (lbf)", string(units.KilogramForce), "kilograms (kgf)", string(units.Newton), "newtons (N)", string(units.OunceForce), "ounces (ozf)", string(units.GramForce), "grams (gf)"),
		Scale:  scaleUnit(f.Text("scale")).Symbol()}
	p.Knots[len(p.Knots)-1].Text = "Another, named below"
	if isNew {
		err = s.setupSoFar(r, f, &p, pulls)
	} else {
		p.Action += "/" + f.Text("id")
		p.Endings = slices.Concat(form.Pairs("", "Choose"), endings(true), form.Pairs(string(journal.PulledBroke), "Broke, place not noted"))
	}
	if err != nil {
		return err
	}
	return s.Render(w, status, "benchpull", p)
}

// setupSoFar says the set-up in words and what it bore so far.
func (s *pages) setupSoFar(r *http.Request, f *form.Form, p *pullPage, pulls []journal.BenchPull) error {
	trial := form.Of(f.Values, f.Units)
	setup := readPull(trial)
	for _, w := range slices.Concat(f.Faults, trial.Faults) {
		if w.Field != "force" && w.Field != "ended" {
			return nil // the fields themselves are shown
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
		if !setupOf(pull).Equal(setupOf(setup)) {
			continue
		}
		n++
		if len(p.Recent) < 5 {
			p.Recent = append(p.Recent, pullRow{Href: "/bench/pulls/" + pull.ID.String(), Title: units.FormatForce(pull.ForceN, f.Units) + ", " + prose.PullEnded(pull.Ending, pull.BrokeAt), Restore: "/bench/pulls/" + pull.ID.String() + "/delete"})
		}
	}
	p.Tally = prose.Plural(n, "pull", "pulls") + " of this set-up so far"
	return nil
}

// setupOf is a pull without what differs between those of one set-up.
func setupOf(p journal.BenchPull) journal.BenchPull {
	p.ID, p.Day, p.ForceN, p.Ending, p.BrokeAt, p.Note = journal.ID{}, journal.Date{}, 0, "", "", ""
	return p
}

func heldPull(sys units.System) func(any) string {
	return func(held any) string {
		p, ok := held.(journal.BenchPull)
		if !ok {
			return ""
		}
		return "The journal’s is " + prose.PullKnot(p) + ", " + units.FormatForce(p.ForceN, sys) + ", " + prose.PullEnded(p.Ending, p.BrokeAt) + "."
	}
}
