// Package outfit serves the pages of anglers, waters and settings.
package outfit

import (
	"net/http"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pages are the pages of anglers, waters and settings.
type pages struct{ *page.Desk }

type settingsPage struct {
	page.Frame
	Problems   form.Problems
	Name, Zone form.Field
	Shown      form.Choice
}

// settings shows the outfit's name, units and time zone.
func (s *pages) settings(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	f := form.New(fr.Units)
	f.Set("name", fr.Outfit.Name)
	f.Set("units", fr.Outfit.Units)
	f.Set("zone", fr.Outfit.TimeZone)
	return s.showSettings(w, http.StatusOK, fr, f)
}

// settingsSave takes the form of the settings.
func (s *pages) settingsSave(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	o := journal.Outfit{Name: f.Text("name"), Units: f.Text("units"), TimeZone: f.Text("zone")}
	return page.Saving{
		Form:  f,
		Store: func() (string, error) { return "/settings?done=settings-saved", s.Store.SetOutfit(r.Context(), o) },
		Again: func(status int) error { return s.showSettings(w, status, fr, f) },
	}.Do(w, r)
}

func (s *pages) showSettings(w http.ResponseWriter, status int, fr page.Frame, f *form.Form) error {
	shown := []form.Option{{Value: string(units.US), Text: "US: inches, feet, °F, cfs"}, {Value: string(units.Metric), Text: "Metric: mm, m, °C, m³/s"}}
	return s.Render(w, status, "settings", settingsPage{Frame: fr, Problems: f.Problems("Not saved yet. Please look at:"),
		Name:  f.Input("name", "Name of the journal", "your own, or your business’s"),
		Shown: f.Choose("units", "Units you see", "you can type any", shown),
		Zone:  f.Input("zone", "Time zone", "for waters you add; such as America/Denver")})
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return []page.Route{
		{Pattern: "GET /anglers", Act: s.Framed("", "Anglers", s.anglers)},
		{Pattern: "GET /anglers/new", Act: s.anglerNew},
		{Pattern: "GET /anglers/{id}", Act: s.angler},
		{Pattern: "POST /anglers/{id}", Act: s.anglerSave},
		{Pattern: "GET /waters", Act: s.Framed("", "Waters", s.waters)},
		{Pattern: "GET /waters/new", Act: s.waterNew},
		{Pattern: "GET /waters/{id}", Act: s.water},
		{Pattern: "POST /waters/{id}", Act: s.waterSave},
		{Pattern: "GET /settings", Act: s.Framed("", "Settings", s.settings)},
		{Pattern: "POST /settings", Act: s.Framed("", "Settings", s.settingsSave)},
	}
}
