package web

import (
	"net/http"
	"strconv"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/prose"
)

// trialsPage lists the trials, the running ones first.
type trialsPage struct {
	frame
	Running, Ended []trialRow
}

// trialRow is a trial of the list.
type trialRow struct {
	Href, Name, Plan string
	State, Look      string // where it stands, and its mark
	More             string
	Start            string // address that starts the next unit, "" once it has ended
	Next             int
	Unit             string
}

// trialLooks are the marks of the states; each differs in form, not in colour alone.
var trialLooks = map[analytics.TrialState]string{
	analytics.TrialMoreA: "settled", analytics.TrialMoreB: "settled", analytics.TrialNoOdds: "alike", analytics.TrialOpen: "open",
	analytics.TrialHopeless: "stuck", analytics.TrialGivenUp: "stuck", analytics.TrialPlanned: "open",
}

func (s *Server) trials(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r, "trials", "Trials")
	if err != nil {
		return err
	}
	list, err := analytics.Trials(r.Context(), s.store)
	if err != nil {
		return err
	}
	p := trialsPage{frame: f}
	for _, a := range list {
		row := newTrialRow(a, f.Units)
		if a.Trial.Ended() {
			p.Ended = append(p.Ended, row)
		} else {
			p.Running = append(p.Running, row)
		}
	}
	return s.render(w, http.StatusOK, "trials", p)
}

func newTrialRow(a analytics.TrialAnswer, sys units.System) trialRow {
	at := "/trials/" + a.Trial.ID.String()
	row := trialRow{Href: at, Name: a.Trial.Name, Plan: prose.TrialPlan(a, sys), State: prose.TrialState(a, sys), Look: trialLooks[a.State], Next: a.Next(), Unit: string(a.Trial.Unit)}
	row.More = "Nothing started"
	if n := len(a.Units); n > 0 {
		row.More = prose.Plural(n, string(a.Trial.Unit), string(a.Trial.Unit)+"s") + " started"
	}
	if l, ok := a.Last(); ok {
		row.More += ", " + prose.Hours1(l.Hours) + " counted, a stake of 1 has come to " + prose.EValue(l.Robust.LogE)
	}
	if !a.Trial.Ended() {
		row.Start = at + "/start"
	}
	return row
}

// askTrials lists the trials for programs; what is sealed is not in it.
func (s *Server) askTrials(r *http.Request, _ units.System) (map[string][]analytics.TrialAnswer, error) {
	list, err := analytics.Trials(r.Context(), s.store)
	return map[string][]analytics.TrialAnswer{"trials": append([]analytics.TrialAnswer{}, list...)}, err
}

// numberAt reads the number of a unit in the address.
func numberAt(r *http.Request) (int, error) {
	n, err := strconv.Atoi(r.PathValue("number"))
	if err != nil || n < 1 {
		return 0, refuse(http.StatusNotFound, "Not in this trial", "The address does not name anything that was started in this trial. Open it from the trial’s page.")
	}
	return n, nil
}

// trialsRoutes are the addresses of these pages.
func (s *Server) trialsRoutes() []route {
	return []route{
		{pattern: "GET /trials", act: s.trials, kept: true},
		{pattern: "GET /trials.json", act: asJSON(s.desk, s.askTrials), kept: true},
		{pattern: "GET /trials/new", act: s.trialNew},
		{pattern: "POST /trials/new", act: s.trialPlan},
		{pattern: "GET /trials/{id}", act: s.trial, kept: true},
		{pattern: "GET /trials/{id}/answer.json", act: asJSON(s.desk, s.askTrial), kept: true},
		{pattern: "GET /trials/{id}/answer.csv", act: asCSV(s.desk, s.askTrial, trialFile), kept: true},
		{pattern: "POST /trials/{id}/start", act: s.trialStart},
		{pattern: "POST /trials/{id}/back", act: s.trialBack},
		{pattern: "POST /trials/{id}/match", act: s.trialMatch},
		{pattern: "POST /trials/{id}/rename", act: s.trialRename},
		{pattern: "POST /trials/{id}/end", act: s.trialEnd},
		{pattern: "POST /trials/{id}/delete", act: doing(s.store.DeleteTrial, "/trials?done=trial-deleted")},
		{pattern: "GET /trials/{id}/units/{number}", act: s.trialUnit},
		{pattern: "POST /trials/{id}/units/{number}", act: s.trialUnitSave},
	}
}
