// Package outfit serves the pages of anglers, waters and settings.
package outfit

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// pages are the pages of anglers, waters and settings.
type pages struct{ *page.Desk }

type settingsPage struct {
	page.Frame
	Form   *form.Form
	Prior  string // what the prior in force expects
	Backup string // when the last one was made; "" where nobody does that by itself
	Failed string // why it was not
}

func (s *pages) newSettingsPage(fr page.Frame, f *form.Form) settingsPage {
	p := settingsPage{Frame: fr, Form: f, Prior: prose.PriorSays(fr.Outfit.Prior())}
	if s.LastBackup != nil {
		at, failed := s.LastBackup()
		p.Backup, p.Failed = "There is no backup of the journal yet.", form.Sentence(failed)
		if !at.IsZero() {
			p.Backup = "The newest backup of the journal is of " + page.InZone(at, fr.Outfit.TimeZone).Format("2 January 2006, 15:04") + "."
		}
	}
	return p
}

// settings shows the outfit's name, units, time zone and prior.
func (s *pages) settings(w http.ResponseWriter, _ *http.Request, fr page.Frame) error {
	f := form.New(fr.Units)
	f.Set("name", fr.Outfit.Name)
	f.Set("units", fr.Outfit.Units)
	f.Set("zone", fr.Outfit.TimeZone)
	f.Set("prior", strconv.FormatFloat(fr.Outfit.Prior(), 'f', -1, 64))
	return s.Render(w, http.StatusOK, "settings", s.newSettingsPage(fr, f))
}

// settingsSave takes the form of the settings.
func (s *pages) settingsSave(w http.ResponseWriter, r *http.Request, fr page.Frame) error {
	f, err := form.Read(r, fr.Units)
	if err != nil {
		return err
	}
	o := journal.Outfit{Name: f.Text("name"), Units: f.Text("units"), TimeZone: f.Text("zone"), PriorSD: form.Or0(form.Optional(f, "prior", parsePrior))}
	return page.Saving{
		Form:  f,
		Store: func() (string, error) { return "/settings?done=settings-saved", s.Store.SetOutfit(r.Context(), o) },
		Again: func(status int) error { return s.Render(w, status, "settings", s.newSettingsPage(fr, f)) },
	}.Do(w, r)
}

func parsePrior(text string) (float64, error) {
	v, err := units.ParseNumber(text)
	if err != nil || v < journal.LeastPriorSD || v > journal.MostPriorSD {
		return 0, fmt.Errorf("write a number from %g to %g, such as %g", journal.LeastPriorSD, journal.MostPriorSD, journal.PriorSD)
	}
	return v, nil
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return slices.Concat([]page.Route{
		{Pattern: "GET /anglers", Act: s.Framed("", "Anglers", s.anglers)},
		{Pattern: "GET /waters", Act: s.Framed("", "Waters", s.waters)},
		{Pattern: "GET /settings", Act: s.Framed("", "Settings", s.settings), For: page.ForOwner},
		{Pattern: "POST /settings", Act: s.Framed("", "Settings", s.settingsSave), For: page.ForOwner},
	}, s.angler().Routes("/anglers/new", "/anglers/{id}"), s.water().Routes("/waters/new", "/waters/{id}"))
}
