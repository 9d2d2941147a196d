package trials

import (
	"context"
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

// onTrial is an action that does what a form asks of a trial and goes back to its page, with the
// notice named done.
func (s *pages) onTrial(done string, do func(context.Context, *form.Form, journal.ID) error) page.Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := page.ID(r)
		if err != nil {
			return err
		}
		f, err := form.Read(r, "")
		if err != nil {
			return err
		}
		if err := do(r.Context(), f, id); err != nil {
			return err
		}
		return page.See(w, r, "/trials/"+id.String()+"?done="+done)
	}
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
		return s.onTrial("trial-started#now", func(ctx context.Context, f *form.Form, id journal.ID) error {
			_, err := s.startUnit(ctx, f, id)
			return err
		})(w, r)
	}
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	f, err := form.Read(r, "")
	if err != nil {
		return err
	}
	u, err := s.startUnit(r.Context(), f, id)
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

func (s *pages) startUnit(ctx context.Context, f *form.Form, id journal.ID) (journal.TrialUnit, error) {
	n, err := number(f)
	if err != nil {
		return journal.TrialUnit{}, err
	}
	return s.Store.StartTrialUnit(ctx, id, n, s.Now())
}

func (s *pages) trialBack(ctx context.Context, f *form.Form, id journal.ID) error {
	n, err := number(f)
	if err != nil {
		return err
	}
	return s.Store.UndoTrialStart(ctx, id, n)
}

func (s *pages) trialEnd(ctx context.Context, f *form.Form, id journal.ID) error {
	if err := s.Store.EndTrial(ctx, id, f.Version(), s.Now(), f.Text("why")); err != nil {
		return err
	}
	if rig := f.ID("usual"); rig != nil {
		return s.Store.SetUsualRig(ctx, *rig)
	}
	return nil
}

func (s *pages) trialRename(ctx context.Context, f *form.Form, id journal.ID) error {
	return s.Store.RenameTrial(ctx, id, f.Version(), f.Text("name"), f.Text("notes"))
}

// trialMatch looks for what was fished in the units that wait.
func (s *pages) trialMatch(ctx context.Context, _ *form.Form, _ journal.ID) error {
	_, err := s.Store.MatchTrials(ctx)
	return err
}
