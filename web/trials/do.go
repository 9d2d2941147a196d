package trials

import (
	"net/http"
	"strconv"
	"strings"

	"rigtally/analytics/trial"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/form"
	"rigtally/web/page"
)

// onTrial runs what a form asks of a trial and goes back to its page, with the
// notice named done.
func (s *pages) onTrial(w http.ResponseWriter, r *http.Request, done string, do func(*form.Form, journal.ID) error) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	f, err := form.Read(r, "")
	if err != nil {
		return err
	}
	if err := do(f, id); err != nil {
		return err
	}
	return page.See(w, r, "/trials/"+id.String()+"?done="+done)
}

// number reads the number of a unit that a form is about. A form sent twice names
// the same, so that it starts one unit and no more.
func number(f *form.Form) (int, error) {
	n, err := strconv.Atoi(f.Text("number"))
	if err != nil || n < 1 {
		return 0, page.Refuse(http.StatusBadRequest, "That could not be read", "The form does not say which number of the trial it is for. Open the trial’s page and press the button there.")
	}
	return n, nil
}

// trialStart starts the next unit; its page then tells what to tie. A program that
// accepts JSON is told at once.
func (s *pages) trialStart(w http.ResponseWriter, r *http.Request) error {
	if !strings.Contains(r.Header.Get("Accept"), "application/json") {
		return s.onTrial(w, r, "trial-started#now", func(f *form.Form, id journal.ID) error {
			_, err := s.startUnit(r, f, id)
			return err
		})
	}
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	f, err := form.Read(r, "")
	if err != nil {
		return err
	}
	u, err := s.startUnit(r, f, id)
	if err != nil {
		return err
	}
	a, err := trial.Follow(r.Context(), s.Store, id)
	if err != nil {
		return err
	}
	o, err := s.Store.Outfit(r.Context())
	if err != nil {
		return err
	}
	return page.SendJSON(w, http.StatusOK, map[string]any{"trial": id, "number": u.Ordinal, "arm": u.Arm, "tie": prose.TrialArm(a, u.Arm.Index(), units.System(o.Units)),
		"note": a.Trial.Arms[u.Arm.Index()].Note, "rig_id": a.Trial.Arms[u.Arm.Index()].RigID, "started_at": u.StartedAt})
}

func (s *pages) startUnit(r *http.Request, f *form.Form, id journal.ID) (journal.TrialUnit, error) {
	n, err := number(f)
	if err != nil {
		return journal.TrialUnit{}, err
	}
	return s.Store.StartTrialUnit(r.Context(), id, n, s.Now())
}

func (s *pages) trialBack(w http.ResponseWriter, r *http.Request) error {
	return s.onTrial(w, r, "trial-back", func(f *form.Form, id journal.ID) error {
		n, err := number(f)
		if err != nil {
			return err
		}
		return s.Store.UndoTrialStart(r.Context(), id, n)
	})
}

func (s *pages) trialEnd(w http.ResponseWriter, r *http.Request) error {
	return s.onTrial(w, r, "trial-ended", func(f *form.Form, id journal.ID) error {
		return s.Store.EndTrial(r.Context(), id, f.Version(), s.Now(), f.Text("why"))
	})
}

func (s *pages) trialRename(w http.ResponseWriter, r *http.Request) error {
	return s.onTrial(w, r, "trial-renamed", func(f *form.Form, id journal.ID) error {
		return s.Store.RenameTrial(r.Context(), id, f.Version(), f.Text("name"), f.Text("notes"))
	})
}

// trialMatch looks for what was fished in the units that wait.
func (s *pages) trialMatch(w http.ResponseWriter, r *http.Request) error {
	return s.onTrial(w, r, "trial-matched", func(*form.Form, journal.ID) error {
		_, err := s.Store.MatchTrials(r.Context())
		return err
	})
}
