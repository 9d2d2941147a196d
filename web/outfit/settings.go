// Package outfit serves the pages of anglers, waters and settings.
package outfit

import (
	"net/http"
	"slices"

	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pages are the pages of anglers, waters and settings.
type pages struct{ *page.Desk }

type settingsPage struct {
	page.Frame
	Form *form.Form
}

// settings shows the outfit's name, units and time zone.
func (s *pages) settings(w http.ResponseWriter, _ *http.Request, fr page.Frame) error {
	f := form.New(fr.Units)
	f.Set("name", fr.Outfit.Name)
	f.Set("units", fr.Outfit.Units)
	f.Set("zone", fr.Outfit.TimeZone)
	return s.Render(w, http.StatusOK, "settings", settingsPage{fr, f})
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
		Again: func(status int) error { return s.Render(w, status, "settings", settingsPage{fr, f}) },
	}.Do(w, r)
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return slices.Concat([]page.Route{
		{Pattern: "GET /anglers", Act: s.Framed("", "Anglers", s.anglers)},
		{Pattern: "GET /waters", Act: s.Framed("", "Waters", s.waters)},
		{Pattern: "GET /settings", Act: s.Framed("", "Settings", s.settings)},
		{Pattern: "POST /settings", Act: s.Framed("", "Settings", s.settingsSave)},
	}, s.angler().Routes("/anglers/new", "/anglers/{id}"), s.water().Routes("/waters/new", "/waters/{id}"))
}
