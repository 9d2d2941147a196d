package web

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rigtally/journal"
)

// logNew shows an empty form, with what is likely to be as last time filled in.
func (s *Server) logNew(w http.ResponseWriter, r *http.Request) error {
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
			f.set(field, id.String())
		}
	}
	f.set("beat", r.URL.Query().Get("beat"))
	return s.showLog(w, http.StatusOK, fr, f, k, journal.Session{})
}

// likeLast fills in ids, today's date, and the people and rig of the session logged last.
func (s *Server) likeLast(ctx context.Context, f *entry, k known, zone string) error {
	id, err := journal.NewID()
	if err != nil {
		return err
	}
	f.set("id", id.String())
	f.set("version", "0")
	last, err := s.store.LastSession(ctx)
	switch {
	case err == nil:
		f.set("angler", last.AnglerID.String())
		f.set("water", last.WaterID.String())
		if last.GuideID != nil {
			f.set("guide", last.GuideID.String())
		}
		zone = last.TimeZone
	case !errors.Is(err, journal.ErrNotFound):
		return err
	}
	f.set("day", s.today(zone).String())
	return f.addStint(k)
}

// addStint puts an empty stint at the end of the form, with the rig of the one
// before, else the one fished last.
func (f *entry) addStint(k known) error {
	id, err := journal.NewID()
	if err != nil {
		return err
	}
	n := f.stints()
	f.set(stintName(n, "id"), id.String())
	switch {
	case n > 0:
		f.set(stintName(n, "rig"), f.text(stintName(n-1, "rig")))
		f.set(stintName(n, "stroke"), f.text(stintName(n-1, "stroke")))
	case len(k.rigs) > 0:
		f.set(stintName(n, "rig"), k.rigs[0].ID.String())
	}
	return nil
}

// sessionEdit shows the form with a stored session.
func (s *Server) sessionEdit(w http.ResponseWriter, r *http.Request) error {
	session, err := s.sessionAt(r)
	if err != nil {
		return err
	}
	fr, err := s.frame(r, "sessions", "Edit a session")
	if err != nil {
		return err
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	f := newEntry(fr.Units)
	f.fillSession(session, k)
	return s.showLog(w, http.StatusOK, fr, f, k, session)
}

// sessionAt reads the session that the address names.
func (s *Server) sessionAt(r *http.Request) (journal.Session, error) {
	id, err := pathID(r)
	if err != nil {
		return journal.Session{}, err
	}
	return s.store.SessionByID(r.Context(), id)
}

// pathID reads the id in the address.
func pathID(r *http.Request) (journal.ID, error) {
	id, err := journal.ParseID(r.PathValue("id"))
	if err != nil {
		return id, refuse(http.StatusNotFound, "Not in this journal", "The address does not name anything in this journal; it may be cut short. Open it from a list.")
	}
	return id, nil
}

// removeStint takes a stint out of the form and moves those after it up.
func (f *entry) removeStint(gone int) {
	n := f.stints()
	if gone < 0 || gone >= n || n == 1 {
		return
	}
	kept := url.Values{}
	for name, v := range f.values {
		i, field, ok := splitStint(name)
		switch {
		case !ok || i < gone:
			kept[name] = v
		case i > gone:
			kept[stintName(i-1, field)] = v
		}
	}
	f.values = kept
}

// splitStint takes the name of a stint's field apart.
func splitStint(name string) (i int, field string, ok bool) {
	rest, ok := strings.CutPrefix(name, "stint.")
	number, field, found := strings.Cut(rest, ".")
	i, err := strconv.Atoi(number)
	return i, field, ok && found && err == nil
}

// loggingRoutes are the addresses of these pages.
func (s *Server) loggingRoutes() []route {
	return []route{
		{pattern: "GET /{$}", act: s.todayPage},
		{pattern: "GET /log", act: s.logNew},
		{pattern: "POST /log", act: s.logSave},
		{pattern: "GET /live", act: s.shellPage},
		{pattern: "GET /after", act: s.shellPage},
		{pattern: "GET /waiting", act: s.shellPage},
		{pattern: "GET /offline", act: s.shellPage},
		{pattern: "GET /sw.js", act: s.serviceWorker},
		{pattern: "GET /manifest.webmanifest", act: s.manifest},
		{pattern: "GET /api/known", act: s.api(s.apiKnown)},
		{pattern: "PUT /api/sessions/{id}", act: s.api(s.apiSession)},
		{pattern: "GET /sessions", act: s.sessions},
		{pattern: "GET /sessions/deleted", act: s.sessionsDeleted},
		{pattern: "GET /sessions/{id}", act: s.session},
		{pattern: "GET /sessions/{id}/edit", act: s.sessionEdit},
		{pattern: "POST /sessions/{id}/edit", act: s.sessionSave},
		{pattern: "POST /sessions/{id}/delete", act: doing(s.store.DeleteSession, "/sessions?undo={id}")},
		{pattern: "POST /sessions/{id}/restore", act: doing(s.store.RestoreSession, "/sessions/{id}?done=restored")},
		{pattern: "GET /recorded", act: s.recorded},
		{pattern: "GET /recorded/mark", act: s.recordedMark},
		{pattern: "POST /recorded/mark", act: s.recordedMarkSave},
	}
}
