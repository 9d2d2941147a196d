// Package logging serves the pages of sessions: today, logging in three ways, what was logged,
// and what was counted.
package logging

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// Pages are the pages of sessions.
type Pages struct {
	*page.Desk
	lists keptLists
	shell func() (*shell, error)
}

// New makes the pages. They are whole once KeepShell has been called.
func New(d *page.Desk) *Pages { return &Pages{Desk: d} }

// logNew shows an empty form, with what is likely to be as last time filled in.
func (s *Pages) logNew(w http.ResponseWriter, r *http.Request) error {
	fr, k, gone, err := s.toLog(r, "Log a session")
	if err = cmp.Or(err, gone); err != nil {
		return err
	}
	f := newEntry(fr.Units)
	if err := s.likeLast(r.Context(), f, k, fr.Outfit.TimeZone); err != nil {
		return err
	}
	for name, field := range map[string]string{"rig": stintName(0, "rig"), "angler": "angler", "water": "water"} {
		if id, err := journal.ParseID(r.URL.Query().Get(name)); err == nil {
			f.Set(field, id.String())
		}
	}
	f.Set("beat", r.URL.Query().Get("beat"))
	return s.showLog(w, http.StatusOK, fr, f, k, journal.Session{})
}

// likeLast fills in ids, today's date, and the people and rig of the session logged last.
func (s *Pages) likeLast(ctx context.Context, f *entry, k known, zone string) error {
	id := journal.NewID()
	f.Set("id", id.String())
	f.Set("version", "0")
	last, err := s.Store.LastSession(ctx)
	switch {
	case err == nil:
		f.Set("angler", last.AnglerID.String())
		f.Set("water", last.WaterID.String())
		if last.GuideID != nil {
			f.Set("guide", last.GuideID.String())
		}
		zone = last.TimeZone
	case !errors.Is(err, journal.ErrNotFound):
		return err
	}
	f.Set("day", s.Today(zone).String())
	return f.addStint(k)
}

// addStint puts an empty stint at the end of the form, with the rig of the one
// before, else the one fished last.
func (f *entry) addStint(k known) error {
	id := journal.NewID()
	n := f.stints()
	f.Set(stintName(n, "id"), id.String())
	switch {
	case n > 0:
		f.Set(stintName(n, "rig"), f.Text(stintName(n-1, "rig")))
		f.Set(stintName(n, "stroke"), f.Text(stintName(n-1, "stroke")))
	case len(k.rigs) > 0:
		f.Set(stintName(n, "rig"), k.rigs[0].ID.String())
	}
	return nil
}

// sessionEdit shows the form with a stored session.
func (s *Pages) sessionEdit(w http.ResponseWriter, r *http.Request, fr page.Frame, session journal.Session) error {
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	f := newEntry(fr.Units)
	f.fillSession(session, k)
	return s.showLog(w, http.StatusOK, fr, f, k, session)
}

// removeStint takes a stint out of the form and moves those after it up.
func (f *entry) removeStint(gone int) {
	n := f.stints()
	if gone < 0 || gone >= n || n == 1 {
		return
	}
	kept := url.Values{}
	for name, v := range f.Values {
		i, field, ok := splitStint(name)
		switch {
		case !ok || i < gone:
			kept[name] = v
		case i > gone:
			kept[stintName(i-1, field)] = v
		}
	}
	f.Values = kept
}

// splitStint takes the name of a stint's field apart.
func splitStint(name string) (i int, field string, ok bool) {
	rest, ok := strings.CutPrefix(name, "stint.")
	number, field, found := strings.Cut(rest, ".")
	i, err := strconv.Atoi(number)
	return i, field, ok && found && err == nil
}

// Routes are the addresses of these pages.
func (s *Pages) Routes() []page.Route {
	stored := func(r *http.Request) (journal.Session, error) { return page.At(r, s.Store.SessionByID) }
	return []page.Route{
		{Pattern: "GET /{$}", Act: s.Framed("today", "Today", s.todayPage), For: page.ForAll},
		{Pattern: "GET /start", Act: s.Framed("today", "Before you fish", s.start), For: page.ForOwner},
		{Pattern: "POST /start", Act: s.Framed("today", "Before you fish", s.startSave), For: page.ForOwner},
		{Pattern: "GET /log", Act: s.logNew, For: page.ForAll},
		{Pattern: "POST /log", Act: s.logSave, For: page.ForAll},
		{Pattern: "GET /live", Act: s.shown, For: page.ForAll},
		{Pattern: "GET /after", Act: s.shown, For: page.ForAll},
		{Pattern: "GET /waiting", Act: s.shown, For: page.ForAll},
		{Pattern: "GET /offline", Act: s.shown, For: page.ForAll},
		{Pattern: "GET /expired", Act: s.shown, For: page.ForAll},
		{Pattern: "GET /manifest.webmanifest", Act: s.manifest, For: page.ForAll},
		// Phones with sessions in their queue ask at the addresses without a version.
		{Pattern: "GET /api/known", Act: s.ForPrograms(s.apiKnown), For: page.ForAll},
		{Pattern: "GET " + page.Program + "/known", Act: s.ForPrograms(s.apiKnown), For: page.ForAll},
		{Pattern: "GET " + page.Program + "/sessions/{id}", Act: s.ForPrograms(s.apiStored), For: page.ForAll},
		{Pattern: "PUT /api/sessions/{id}", Act: s.ForPrograms(s.apiSession), For: page.ForAll},
		{Pattern: "PUT " + page.Program + "/sessions/{id}", Act: s.ForPrograms(s.apiSession), For: page.ForAll},
		{Pattern: "PUT /api/rigs/{id}", Act: s.ForPrograms(s.apiRig), For: page.ForAll},
		{Pattern: "PUT " + page.Program + "/rigs/{id}", Act: s.ForPrograms(s.apiRig), For: page.ForAll},
		{Pattern: "GET /sessions", Act: s.Framed("sessions", "Sessions", s.sessions), For: page.ForAll},
		{Pattern: "GET /sessions/deleted", Act: s.Framed("sessions", "Deleted sessions", s.sessionsDeleted), For: page.ForAll},
		{Pattern: "GET /sessions/{id}", Act: page.Showing(s.Desk, "sessions", stored, func(of journal.Session) string { return prose.Day(of.Day) }, s.session), For: page.ForAll},
		{Pattern: "GET /sessions/{id}/edit", Act: page.Showing(s.Desk, "sessions", stored, func(journal.Session) string { return "Edit a session" }, s.sessionEdit), For: page.ForAll},
		{Pattern: "POST /sessions/{id}/edit", Act: s.sessionSave, For: page.ForAll},
		{Pattern: "POST /sessions/{id}/count", Act: s.sessionCount, For: page.ForAll},
		{Pattern: "POST /sessions/{id}/river", Act: s.sessionRiver},
		{Pattern: "POST /sessions/{id}/delete", Act: page.Doing(s.Store.DeleteSession, "/sessions?undo={id}"), For: page.ForAll},
		{Pattern: "POST /sessions/{id}/restore", Act: page.Doing(s.Store.RestoreSession, "/sessions/{id}?done=restored"), For: page.ForAll},
		{Pattern: "GET /recorded", Act: s.Framed("sessions", "What was counted", s.recorded)},
		{Pattern: "GET /recorded/mark", Act: s.recordedMark},
		{Pattern: "POST /recorded/mark", Act: s.recordedMarkSave},
	}
}
