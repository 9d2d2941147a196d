package web

import (
	"net/http"
	"strconv"
	"strings"

	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// onTrial runs what a form asks of a trial and goes back to its page, with the
// notice named done.
func (s *Server) onTrial(w http.ResponseWriter, r *http.Request, done string, do func(*form, journal.ID) error) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	f, err := readForm(r, "")
	if err != nil {
		return err
	}
	if err := do(f, id); err != nil {
		return err
	}
	http.Redirect(w, r, "/trials/"+id.String()+"?done="+done, http.StatusSeeOther)
	return nil
}

// number reads the number of a unit that a form is about. A form sent twice names
// the same, so that it starts one unit and no more.
func (f *form) number() (int, error) {
	n, err := strconv.Atoi(f.text("number"))
	if err != nil || n < 1 {
		return 0, &refusal{http.StatusBadRequest, "That could not be read", "The form does not say which number of the trial it is about. Open the trial’s page and press the button there."}
	}
	return n, nil
}

// trialStart starts the next unit; its page then tells what to tie. A program that
// accepts JSON is told at once.
func (s *Server) trialStart(w http.ResponseWriter, r *http.Request) error {
	if !strings.Contains(r.Header.Get("Accept"), "application/json") {
		return s.onTrial(w, r, "trial-started#now", func(f *form, id journal.ID) error {
			_, err := s.startUnit(r, f, id)
			return err
		})
	}
	id, err := pathID(r)
	if err != nil {
		return err
	}
	f, err := readForm(r, "")
	if err != nil {
		return err
	}
	u, err := s.startUnit(r, f, id)
	if err != nil {
		return err
	}
	a, err := trial.Follow(r.Context(), s.store, id)
	if err != nil {
		return err
	}
	o, err := s.store.Outfit(r.Context())
	if err != nil {
		return err
	}
	return sendTrialJSON(w, map[string]any{"trial": id, "number": u.Ordinal, "arm": u.Arm, "tie": prose.TrialArm(a, u.Arm.Index(), units.System(o.Units)),
		"note": a.Trial.Arms[u.Arm.Index()].Note, "rig_id": a.Trial.Arms[u.Arm.Index()].RigID, "started_at": u.StartedAt})
}

func (s *Server) startUnit(r *http.Request, f *form, id journal.ID) (journal.TrialUnit, error) {
	n, err := f.number()
	if err != nil {
		return journal.TrialUnit{}, err
	}
	return s.store.StartTrialUnit(r.Context(), id, n, s.now())
}

func (s *Server) trialBack(w http.ResponseWriter, r *http.Request) error {
	return s.onTrial(w, r, "trial-back", func(f *form, id journal.ID) error {
		n, err := f.number()
		if err != nil {
			return err
		}
		return s.store.UndoTrialStart(r.Context(), id, n)
	})
}

func (s *Server) trialEnd(w http.ResponseWriter, r *http.Request) error {
	return s.onTrial(w, r, "trial-ended", func(f *form, id journal.ID) error {
		return s.store.EndTrial(r.Context(), id, f.version(), s.now(), f.text("why"))
	})
}

func (s *Server) trialRename(w http.ResponseWriter, r *http.Request) error {
	return s.onTrial(w, r, "trial-renamed", func(f *form, id journal.ID) error {
		return s.store.RenameTrial(r.Context(), id, f.version(), f.text("name"), f.text("notes"))
	})
}

// trialMatch looks for what was fished in the units that wait.
func (s *Server) trialMatch(w http.ResponseWriter, r *http.Request) error {
	return s.onTrial(w, r, "trial-matched", func(*form, journal.ID) error {
		_, err := s.store.MatchTrials(r.Context())
		return err
	})
}

func (s *Server) trialDelete(w http.ResponseWriter, r *http.Request) error {
	id, err := pathID(r)
	if err != nil {
		return err
	}
	if err := s.store.DeleteTrial(r.Context(), id, seenIn(r)); err != nil {
		return err
	}
	http.Redirect(w, r, "/trials?done=trial-deleted", http.StatusSeeOther)
	return nil
}
