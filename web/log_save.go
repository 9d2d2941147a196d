package web

import (
	"context"
	"errors"
	"net/http"
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
		return &refusal{http.StatusConflict, "Deleted meanwhile", "This session was deleted while you were editing it, so nothing was saved. If that was a mistake, restore it under Sessions, Deleted, and make your change again."}
	}
	if err != nil {
		return err
	}
	return s.saveSession(w, r, "Edit a session", was)
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
	e := f.readSession(k, was, fr.Outfit.TimeZone)
	if f.values.Get("do") == "save-new" {
		f.anew(&e.session)
	}
	if len(f.faults) == 0 {
		_, err = s.storeEntry(r.Context(), e, k)
	}
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		f.refuse(invalid)
	case errors.Is(err, journal.ErrConflict):
		if err := f.conflict(e.session); err != nil {
			return err
		}
		return s.showLog(w, http.StatusConflict, fr, f, k, was)
	case err != nil:
		return err
	}
	if len(f.faults) > 0 {
		return s.showLog(w, http.StatusUnprocessableEntity, fr, f, k, was)
	}
	http.Redirect(w, r, "/sessions/"+e.session.ID.String()+"?done=logged", http.StatusSeeOther)
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

// conflict says what to do when the journal holds another version, and has ids
// ready under which this one can be stored as well.
func (f *form) conflict(s journal.Session) error {
	f.faults = append(f.faults, fault{"", "The journal holds a different version of this session by now, so this one was not saved. Open the other one, see what differs, and make your change there."})
	f.stored = s.ID
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

// storeEntry adds the people and waters that are new and stores the session. It
// checks the session first, so that a refused one leaves nothing behind. It
// returns the session as stored.
func (s *Server) storeEntry(ctx context.Context, e entry, k known) (journal.Session, error) {
	if err := e.validate(k); err != nil {
		return e.session, err
	}
	if e.newAngler != "" {
		a, err := s.store.AnglerNamed(ctx, e.newAngler)
		if err != nil {
			return e.session, err
		}
		e.session.AnglerID = a.ID
	}
	if e.newWater != "" || e.beat != "" {
		name := e.newWater
		if name == "" {
			w, _ := k.water(e.session.WaterID)
			name = w.Name
		}
		w, beat, err := s.store.WaterNamed(ctx, name, e.beat)
		if err != nil {
			return e.session, err
		}
		e.session.WaterID, e.session.BeatID = w.ID, beat
	}
	return s.store.SaveSession(ctx, e.session)
}

// validate checks the session together with the names that it brings.
func (e entry) validate(k known) error {
	trial := e.session
	var all journal.Invalid
	check := func(field string, err error) {
		var invalid *journal.Invalid
		if !errors.As(err, &invalid) {
			return
		}
		for i, problem := range invalid.Problems {
			at := field
			if at == "" && i < len(invalid.Fields) {
				at = invalid.Fields[i]
			}
			all.Problems, all.Fields = append(all.Problems, problem), append(all.Fields, at)
		}
	}
	if e.newAngler != "" {
		trial.AnglerID = trial.ID // stands for what is not stored yet
		check("angler", journal.Angler{Name: e.newAngler, Kind: journal.Client}.Validate())
	}
	if e.newWater != "" {
		trial.WaterID = trial.ID
		check("water", journal.Water{Name: e.newWater, Kind: journal.WaterOther, TimeZone: trial.TimeZone}.Validate())
	}
	if e.beat != "" {
		check("beat", journal.Water{Name: "w", Kind: journal.WaterOther, TimeZone: trial.TimeZone, Beats: []journal.Beat{{Name: e.beat}}}.Validate())
	}
	check("", trial.Validate(k.byID()))
	if len(all.Problems) > 0 {
		return &all
	}
	return nil
}
