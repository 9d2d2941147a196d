package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rigtally/journal"
)

// logSave takes the form of a new session.
func (s *Server) logSave(w http.ResponseWriter, r *http.Request) error {
	return s.saveSession(w, r, "Log a session", journal.Session{})
}

// sessionSave takes the form of a session that was stored before.
func (s *Server) sessionSave(w http.ResponseWriter, r *http.Request) error {
	was, err := s.sessionAt(r)
	if errors.Is(err, journal.ErrNotFound) {
		was, err = s.deletedAt(r)
	}
	if err != nil {
		return err
	}
	return s.saveSession(w, r, "Edit a session", was)
}

// deletedAt is the session that the address names and that was deleted meanwhile.
// One that is gone for good has only its id left.
func (s *Server) deletedAt(r *http.Request) (journal.Session, error) {
	id, err := pathID(r)
	if err != nil {
		return journal.Session{}, err
	}
	list, err := s.store.DeletedSessions(r.Context())
	for _, d := range list {
		if d.ID == id {
			return d.Session, err
		}
	}
	return journal.Session{ID: id}, err
}

// saveSession stores what the form says, or shows the form again: with what is
// wrong, or with another stint when that is what the button was for.
func (s *Server) saveSession(w http.ResponseWriter, r *http.Request, title string, was journal.Session) error {
	fr, err := s.frame(r, "today", title)
	if err != nil {
		return err
	}
	f, err := readForm(r, fr.Units)
	if err != nil {
		return err
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	if done, err := f.act(k); done || err != nil {
		if err != nil {
			return err
		}
		return s.showLog(w, http.StatusOK, fr, f, k, was)
	}
	if !was.ID.IsZero() {
		f.set("id", was.ID.String()) // the address says which session it is
	}
	d := f.readSession(k, was, fr.Outfit.TimeZone)
	if f.values.Get("do") == "save-new" {
		f.anew(&d.Session)
	}
	if len(f.faults) == 0 {
		_, err = s.store.LogSession(r.Context(), d)
	}
	var invalid *journal.Invalid
	var doubtful *journal.Doubtful
	switch {
	case errors.As(err, &invalid):
		f.refuse(invalid)
	case errors.As(err, &doubtful):
		f.doubt(doubtful)
	case errors.Is(err, journal.ErrConflict), errors.Is(err, journal.ErrNotFound):
		if err := f.conflict(d.Session, err); err != nil {
			return err
		}
		return s.showLog(w, http.StatusConflict, fr, f, k, was)
	case err != nil:
		return err
	}
	if len(f.faults) > 0 {
		return s.showLog(w, http.StatusUnprocessableEntity, fr, f, k, was)
	}
	http.Redirect(w, r, "/sessions/"+d.Session.ID.String()+"?"+url.Values{"done": {"logged"}, "read": f.read}.Encode(), http.StatusSeeOther)
	return nil
}

// act does what a button asks for that does not save, and reports whether it did.
func (f *form) act(k known) (bool, error) {
	do := f.values.Get("do")
	switch {
	case do == "save", do == "save-new":
		return false, nil
	case do == "add" && f.stints() < maxStints:
		return true, f.addStint(k)
	case strings.HasPrefix(do, "remove-"):
		if i, err := strconv.Atoi(strings.TrimPrefix(do, "remove-")); err == nil {
			f.removeStint(i)
		}
	}
	return true, nil // anything else only shows the form anew
}

// doubt asks whether what is likelier a slip is so.
func (f *form) doubt(d *journal.Doubtful) {
	f.doubtful = true
	says, _ := questions(d)
	for _, text := range says {
		f.faults = append(f.faults, fault{"", text})
	}
}

// conflict says what to do when the journal holds another version, and has ids
// ready under which this one can be stored as well.
func (f *form) conflict(s journal.Session, cause error) error {
	says := "This session was deleted meanwhile, so this one was not saved. Restore it under Sessions, Deleted, and save this one then, or save this one as a new session."
	var c *journal.Conflict
	if errors.As(cause, &c) && !c.Deleted {
		says = fmt.Sprintf("The journal holds a different version of this session by now (version %d, yours began from %d), so this one was not saved. Open the other one, see what differs, and make your change there.", c.Held, c.Seen)
		f.stored = s.ID
	}
	f.faults = append(f.faults, fault{"", says})
	f.anewOffered = true
	for i := range len(s.Stints) + 1 {
		id, err := journal.NewID()
		if err != nil {
			return err
		}
		f.set(anewName(i), id.String())
	}
	return nil
}

// anewName is the field that holds the id for the session, from 1 on for its
// stints, when it is stored beside the one it conflicts with.
func anewName(i int) string { return "anew." + strconv.Itoa(i) }

// anew gives the session and its stints the ids that the conflict prepared.
func (f *form) anew(s *journal.Session) {
	s.Version = 0
	s.ID = orZero(f.id(anewName(0)))
	for i := range s.Stints {
		s.Stints[i].ID = orZero(f.id(anewName(i + 1)))
	}
}
