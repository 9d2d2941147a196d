package web

import (
	"net/http"
	"strconv"

	"rigtally/journal"
)

type waterPage struct {
	frame
	Problems        problems
	Action          string
	Sessions        string // address of the water's sessions, "" for a new one
	Name, TimeZone  field
	Kind            choice
	Provider, Gauge field
	Beats           []field
	BeatIDs         []field
}

// waterNew shows an empty form under an id of its own.
func (s *Server) waterNew(w http.ResponseWriter, r *http.Request) error {
	id, err := journal.NewID()
	if err != nil {
		return err
	}
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return err
	}
	return s.showWater(w, r, http.StatusOK, nil, journal.Water{ID: id, TimeZone: o.TimeZone}, true)
}

// water shows the form with a water of the journal.
func (s *Server) water(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	list, err := s.store.Waters(r.Context())
	if err != nil {
		return err
	}
	for _, water := range list {
		if water.ID == id {
			return s.showWater(w, r, http.StatusOK, nil, water, false)
		}
	}
	return journal.ErrNotFound
}

// waterSave takes the form of a new water or of one in the journal.
func (s *Server) waterSave(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	f, err := readForm(r, "")
	if err != nil {
		return err
	}
	water := f.readWater(id)
	return saving{
		form:  f,
		store: func() (string, error) { return "/waters?done=water-saved", s.store.SaveWater(r.Context(), water) },
		again: func(status int) error { return s.showWater(w, r, status, f, water, f.checked("new")) },
	}.do(w, r)
}

func beatName(i int, field string) string { return "beat." + strconv.Itoa(i) + "." + field }

// readWater turns the form into a water. A beat left without a name is kept
// under its old one by the journal, and is not added when it is new.
func (f *form) readWater(id journal.ID) journal.Water {
	w := journal.Water{ID: id, Name: f.text("name"), Kind: journal.WaterKind(f.text("kind")), TimeZone: f.text("zone"),
		GaugeProvider: f.text("provider"), GaugeSite: f.text("gauge")}
	if (w.GaugeProvider == "") != (w.GaugeSite == "") {
		f.fault("gauge", "a gauge needs both who runs it and its number; fill in both or neither")
	}
	const most = 200
	for i := 0; i < most && f.values.Has(beatName(i, "id")); i++ {
		if name := f.text(beatName(i, "name")); name != "" {
			if beat := f.id(beatName(i, "id")); beat != nil {
				w.Beats = append(w.Beats, journal.Beat{ID: *beat, Name: name})
			}
		}
	}
	return w
}

// fillWater writes a water into the form, with room for a new beat.
func (f *form) fillWater(w journal.Water) error {
	id, err := journal.NewID()
	if err != nil {
		return err
	}
	f.set("name", w.Name)
	f.set("kind", string(w.Kind))
	f.set("zone", w.TimeZone)
	f.set("provider", w.GaugeProvider)
	f.set("gauge", w.GaugeSite)
	for i, b := range append(w.Beats, journal.Beat{ID: id}) {
		f.set(beatName(i, "id"), b.ID.String())
		f.set(beatName(i, "name"), b.Name)
	}
	return nil
}

func (s *Server) showWater(w http.ResponseWriter, r *http.Request, status int, f *form, water journal.Water, isNew bool) error {
	title := "Add a water"
	if !isNew {
		title = "Change a water"
	}
	fr, err := s.frame(r, "", title)
	if err != nil {
		return err
	}
	if f == nil {
		f = newForm(fr.Units)
		if err := f.fillWater(water); err != nil {
			return err
		}
	}
	p := waterPage{frame: fr, Problems: f.problems("Not saved yet. Please look at:"), Action: "/waters/" + water.ID.String(),
		Name:     f.input("name", "Name", ""),
		Kind:     f.choose("kind", "Kind", "", vocabulary(journal.WaterKinds(), "Choose")),
		TimeZone: f.input("zone", "Time zone", "as America/Denver or Europe/Vienna"),
		Provider: f.input("provider", "Gauge run by", "optional"),
		Gauge:    f.input("gauge", "Gauge number", "")}
	if !isNew {
		p.Sessions = "/sessions?water=" + water.ID.String()
	}
	for i := 0; f.values.Has(beatName(i, "id")); i++ {
		p.BeatIDs = append(p.BeatIDs, f.input(beatName(i, "id"), "", ""))
		label := "Beat " + strconv.Itoa(i+1)
		if f.text(beatName(i, "name")) == "" {
			label = "A new beat"
		}
		p.Beats = append(p.Beats, f.input(beatName(i, "name"), label, ""))
	}
	return s.render(w, status, "water", p)
}
