package outfit

import (
	"net/http"
	"strconv"
	"strings"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

type waterPage struct {
	page.Frame
	Problems        form.Problems
	Action          string
	Sessions        string // address of the water's sessions, "" for a new one
	Name, TimeZone  form.Field
	Kind            form.Choice
	Provider, Gauge form.Field
	Beats           []form.Field
	BeatIDs         []form.Field
}

// waterNew shows an empty form under an id of its own.
func (s *pages) waterNew(w http.ResponseWriter, r *http.Request) error {
	id := journal.NewID()
	o, err := s.Store.Outfit(r.Context())
	if err != nil {
		return err
	}
	return s.showWater(w, r, http.StatusOK, nil, journal.Water{ID: id, TimeZone: o.TimeZone}, true)
}

// water shows the form with a water of the journal.
func (s *pages) water(w http.ResponseWriter, r *http.Request) error {
	water, err := page.Of(r, s.Store.Waters, func(w journal.Water) journal.ID { return w.ID })
	if err != nil {
		return err
	}
	return s.showWater(w, r, http.StatusOK, nil, water, false)
}

// waterSave takes the form of a new water or of one in the journal.
func (s *pages) waterSave(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	f, err := form.Read(r, "")
	if err != nil {
		return err
	}
	water := readWater(f, id)
	return page.Saving{
		Form:  f,
		Store: func() (string, error) { return "/waters?done=water-saved", s.Store.SaveWater(r.Context(), water) },
		Again: func(status int) error { return s.showWater(w, r, status, f, water, f.Checked("new")) },
	}.Do(w, r)
}

func beatName(i int, field string) string { return "beat." + strconv.Itoa(i) + "." + field }

// readWater turns the form into a water. A beat left without a name is kept
// under its old one by the journal, and is not added when it is new.
func readWater(f *form.Form, id journal.ID) journal.Water {
	w := journal.Water{ID: id, Name: f.Text("name"), Kind: journal.WaterKind(f.Text("kind")), TimeZone: f.Text("zone"),
		GaugeProvider: f.Text("provider"), GaugeSite: f.Text("gauge")}
	if (w.GaugeProvider == "") != (w.GaugeSite == "") {
		f.Fault("gauge", "a gauge needs who runs it and its number; fill in both or neither")
	}
	const most = 200
	for i := 0; i < most && f.Values.Has(beatName(i, "id")); i++ {
		if name := f.Text(beatName(i, "name")); name != "" {
			if beat := f.ID(beatName(i, "id")); beat != nil {
				w.Beats = append(w.Beats, journal.Beat{ID: *beat, Name: name})
			}
		}
	}
	return w
}

// fillWater writes a water into the form, with room for a new beat.
func fillWater(f *form.Form, w journal.Water) error {
	id := journal.NewID()
	f.Set("name", w.Name)
	f.Set("kind", string(w.Kind))
	f.Set("zone", w.TimeZone)
	f.Set("provider", w.GaugeProvider)
	f.Set("gauge", w.GaugeSite)
	for i, b := range append(w.Beats, journal.Beat{ID: id}) {
		f.Set(beatName(i, "id"), b.ID.String())
		f.Set(beatName(i, "name"), b.Name)
	}
	return nil
}

func (s *pages) showWater(w http.ResponseWriter, r *http.Request, status int, f *form.Form, water journal.Water, isNew bool) error {
	title := "Add a water"
	if !isNew {
		title = "Change a water"
	}
	fr, err := s.Frame(r, "", title)
	if err != nil {
		return err
	}
	if f == nil {
		f = form.New(fr.Units)
		if err := fillWater(f, water); err != nil {
			return err
		}
	}
	p := waterPage{Frame: fr, Problems: f.Problems("Not saved yet. Please look at:"), Action: "/waters/" + water.ID.String(),
		Name:     f.Input("name", "Name", ""),
		Kind:     f.Choose("kind", "Kind", "", form.Vocabulary(journal.WaterKinds(), "Choose")),
		TimeZone: f.Input("zone", "Time zone", "such as America/Denver"),
		Provider: f.Input("provider", "Gauge run by", "optional"),
		Gauge:    f.Input("gauge", "Gauge number", "")}
	if !isNew {
		p.Sessions = "/sessions?water=" + water.ID.String()
	}
	for i := 0; f.Values.Has(beatName(i, "id")); i++ {
		p.BeatIDs = append(p.BeatIDs, f.Input(beatName(i, "id"), "", ""))
		label := "Beat " + strconv.Itoa(i+1)
		if f.Text(beatName(i, "name")) == "" {
			label = "A new beat"
		}
		p.Beats = append(p.Beats, f.Input(beatName(i, "name"), label, ""))
	}
	return s.Render(w, status, "water", p)
}

type watersPage struct {
	page.Frame
	Waters []page.Row
}

// waters lists every water with its beats.
func (s *pages) waters(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	list, err := s.Store.Waters(r.Context())
	if err != nil {
		return err
	}
	p := watersPage{Frame: fr}
	for _, water := range list {
		more := []string{prose.Capital(string(water.Kind))}
		for _, b := range water.Beats {
			more = append(more, b.Name)
		}
		p.Waters = append(p.Waters, page.Row{Href: "/waters/" + water.ID.String(), Title: water.Name, More: strings.Join(more, " · ")})
	}
	return s.Render(w, http.StatusOK, "waters", p)
}
