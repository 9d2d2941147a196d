package web

import (
	"net/http"

	"rigtally/internal/units"
	"rigtally/journal"
)

type settingsPage struct {
	frame
	Problems   problems
	Name, Zone field
	Shown      choice
}

// settings shows the outfit's name, units and time zone.
func (s *Server) settings(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "", "Settings")
	if err != nil {
		return err
	}
	f := newForm(fr.Units)
	f.set("name", fr.Outfit.Name)
	f.set("units", fr.Outfit.Units)
	f.set("zone", fr.Outfit.TimeZone)
	return s.showSettings(w, http.StatusOK, fr, f)
}

// settingsSave takes the form of the settings.
func (s *Server) settingsSave(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "", "Settings")
	if err != nil {
		return err
	}
	f, err := readForm(r, fr.Units)
	if err != nil {
		return err
	}
	o := journal.Outfit{Name: f.text("name"), Units: f.text("units"), TimeZone: f.text("zone")}
	return saving{
		form:  f,
		store: func() (string, error) { return "/settings?done=settings-saved", s.store.SetOutfit(r.Context(), o) },
		again: func(status int) error { return s.showSettings(w, status, fr, f) },
	}.do(w, r)
}

func (s *Server) showSettings(w http.ResponseWriter, status int, fr frame, f *form) error {
	shown := []option{{Value: string(units.US), Text: "US: inches, feet, °F, cfs"}, {Value: string(units.Metric), Text: "Metric: mm, m, °C, m³/s"}}
	return s.render(w, status, "settings", settingsPage{frame: fr, Problems: f.problems("Not saved yet. Please look at:"),
		Name:  f.input("name", "Name of the journal", "your own, or your business’s"),
		Shown: f.choose("units", "Units that you see", "you may write any", shown),
		Zone:  f.input("zone", "Time zone", "for waters you add; as America/Denver or Europe/Vienna")})
}

// outfitRoutes are the addresses of these pages.
func (s *Server) outfitRoutes() []route {
	return []route{
		{pattern: "GET /anglers", act: s.anglers},
		{pattern: "GET /anglers/new", act: s.anglerNew},
		{pattern: "GET /anglers/{id}", act: s.angler},
		{pattern: "POST /anglers/{id}", act: s.anglerSave},
		{pattern: "GET /waters", act: s.waters},
		{pattern: "GET /waters/new", act: s.waterNew},
		{pattern: "GET /waters/{id}", act: s.water},
		{pattern: "POST /waters/{id}", act: s.waterSave},
		{pattern: "GET /settings", act: s.settings},
		{pattern: "POST /settings", act: s.settingsSave},
	}
}
