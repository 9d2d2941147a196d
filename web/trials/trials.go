// Package trials serves the pages of trials.
package trials

import (
	"net/http"
	"strconv"

	"rigtally/analytics/trial"

	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/web/page"
)

// pages are the pages of trials.
type pages struct{ *page.Desk }

// trialsPage lists the trials, the running ones first.
type trialsPage struct {
	page.Frame
	Running, Ended []trialRow
}

// trialRow is a trial of the list.
type trialRow struct {
	journal.Trial
	Plan        string
	State, Look string // where it stands, and its mark
	More        string
	Next        int
}

// trialLooks are the marks of the states; each differs in form, not in colour alone.
var trialLooks = map[trial.State]string{
	trial.MoreA: "settled", trial.MoreB: "settled", trial.NoOdds: "alike", trial.Open: "open",
	trial.Unlike: "stuck", trial.Missing: "stuck", trial.Hopeless: "stuck", trial.GivenUp: "stuck", trial.Planned: "open",
}

func (s *pages) trials(w http.ResponseWriter, r *http.Request, f page.Frame) error {
	list, err := trial.FollowAll(r.Context(), s.Store)
	if err != nil {
		return err
	}
	p := trialsPage{Frame: f}
	for _, a := range list {
		row := newTrialRow(a, f.Units)
		if a.Trial.Ended() {
			p.Ended = append(p.Ended, row)
		} else {
			p.Running = append(p.Running, row)
		}
	}
	return s.Render(w, http.StatusOK, "trials", p)
}

func newTrialRow(a trial.Answer, sys units.System) trialRow {
	row := trialRow{Trial: a.Trial, Plan: prose.TrialPlan(a, sys), State: prose.TrialState(a, sys), Look: trialLooks[a.State], Next: a.Trial.Next(), More: "Nothing started"}
	if n := len(a.Units); n > 0 {
		row.More = prose.Plural(n, string(a.Trial.Unit), string(a.Trial.Unit)+"s") + " started"
	}
	if l, ok := a.Last(); ok {
		row.More += ", " + prose.Hours1(l.Hours) + " counted, a stake of 1 has come to " + prose.EValue(l.Robust.LogE)
	}
	if a.Settled > 0 {
		row.Next = 0 // nothing is left to find out
	}
	return row
}

// askTrials lists the trials for programs; what is sealed is not in it.
func (s *pages) askTrials(r *http.Request, _ units.System) (map[string][]trial.Answer, error) {
	list, err := trial.FollowAll(r.Context(), s.Store)
	return map[string][]trial.Answer{"trials": append([]trial.Answer{}, list...)}, err
}

// unitAt reads the trial and the number of its unit in the address.
func unitAt(r *http.Request) (id journal.ID, n int, err error) {
	if id, err = page.ID(r); err != nil {
		return id, 0, err
	}
	n, err = strconv.Atoi(r.PathValue("number"))
	if err != nil || n < 1 {
		return id, 0, page.Refuse(http.StatusNotFound, "Not in this trial", "Nothing at this address was started in this trial. Open it from the trial’s page.")
	}
	return id, n, nil
}

// Routes are the addresses of these pages.
func Routes(d *page.Desk) []page.Route {
	s := &pages{d}
	return []page.Route{
		{Pattern: "GET /trials", Act: s.Framed("trials", "Trials", s.trials), Kept: true, For: page.ForAll},
		{Pattern: "GET /trials.json", Act: page.AsJSON(s.Desk, s.askTrials), Kept: true, For: page.ForAll},
		{Pattern: "GET " + page.Program + "/trials", Act: page.AsJSON(s.Desk, s.askTrials), Kept: true, For: page.ForAll},
		{Pattern: "GET " + page.Program + "/trials/{id}", Act: page.AsJSON(s.Desk, s.askTrial), Kept: true, For: page.ForAll},
		{Pattern: "GET /trials/new", Act: s.trialNew, For: page.ForAll},
		{Pattern: "POST /trials/new", Act: s.Framed("trials", "Plan a trial", s.trialPlan), For: page.ForAll},
		{Pattern: "GET /trials/{id}", Act: page.Showing(d, "trials", func(r *http.Request) (trial.Answer, error) { return s.askTrial(r, "") }, func(a trial.Answer) string { return a.Trial.Name }, s.trial), Kept: true, For: page.ForAll},
		{Pattern: "GET /trials/{id}/answer.json", Act: page.AsJSON(s.Desk, s.askTrial), Kept: true, For: page.ForAll},
		{Pattern: "GET /trials/{id}/answer.csv", Act: page.AsCSV(s.Desk, s.askTrial, trialFile, func(a trial.Answer, _ units.System) table.Table { return prose.TrialLooks(a) }), Kept: true, For: page.ForAll},
		{Pattern: "POST /trials/{id}/start", Act: s.trialStart, For: page.ForAll},
		{Pattern: "POST /trials/{id}/back", Act: s.onTrial("trial-back", s.trialBack), For: page.ForAll},
		{Pattern: "POST /trials/{id}/match", Act: s.onTrial("trial-matched", s.trialMatch), For: page.ForAll},
		{Pattern: "POST /trials/{id}/rename", Act: s.onTrial("trial-renamed", s.trialRename), For: page.ForAll},
		{Pattern: "POST /trials/{id}/end", Act: s.onTrial("trial-ended", s.trialEnd), For: page.ForAll},
		{Pattern: "POST /trials/{id}/delete", Act: page.Doing(s.Store.DeleteTrial, "/trials?done=trial-deleted"), For: page.ForAll},
		{Pattern: "GET /trials/{id}/units/{number}", Act: s.trialUnit, For: page.ForAll},
		{Pattern: "POST /trials/{id}/units/{number}", Act: s.trialUnitSave, For: page.ForAll},
	}
}
