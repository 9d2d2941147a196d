package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"

	"rigtally/analytics/trial"
	"rigtally/internal/units"
	"rigtally/journal"
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
var trialLooks = map[trial.State]string{
	trial.MoreA: "settled", trial.MoreB: "settled", trial.NoOdds: "alike", trial.Open: "open",
	trial.Hopeless: "stuck", trial.GivenUp: "stuck", trial.Planned: "open",
}

func (s *Server) trials(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r, "trials", "Trials")
	if err != nil {
		return err
	}
	list, err := trial.FollowAll(r.Context(), s.store)
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

func newTrialRow(a trial.Answer, sys units.System) trialRow {
	at := "/trials/" + a.Trial.ID.String()
	row := trialRow{Href: at, Name: a.Trial.Name, Plan: prose.TrialPlan(a, sys), State: prose.TrialState(a, sys), Look: trialLooks[a.State], Next: a.Next(), Unit: string(a.Trial.Unit)}
	row.More = "Nothing started"
	if n := len(a.Units); n > 0 {
		row.More = count(n, string(a.Trial.Unit), string(a.Trial.Unit)+"s") + " started"
	}
	if l, ok := a.Last(); ok {
		row.More += ", " + prose.Hours1(l.Hours) + " counted, a stake of 1 has come to " + prose.EValue(l.Robust.LogE)
	}
	if !a.Trial.Ended() {
		row.Start = at + "/start"
	}
	return row
}

// trialsJSON lists the trials for programs; what is sealed is not in it.
func (s *Server) trialsJSON(w http.ResponseWriter, r *http.Request) error {
	list, err := trial.FollowAll(r.Context(), s.store)
	if err != nil {
		return err
	}
	if list == nil {
		list = []trial.Answer{}
	}
	return sendTrialJSON(w, map[string]any{"trials": list})
}

func sendTrialJSON(w http.ResponseWriter, v any) error {
	text, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write a trial as JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(append(text, '\n')) // a browser that went away is no failure
	return nil
}

// numberAt reads the number of a unit in the address.
func numberAt(r *http.Request) (int, error) {
	n, err := strconv.Atoi(r.PathValue("number"))
	if err != nil || n < 1 {
		return 0, &refusal{http.StatusNotFound, "Not in this trial", "The address does not name anything that was started in this trial. Open it from the trial’s page."}
	}
	return n, nil
}

// trialLink leads to a running trial from where fishing begins.
type trialLink struct{ Href, Text string }

func (s *Server) trialLinks(ctx context.Context) ([]trialLink, error) {
	list, err := s.store.RunningTrials(ctx)
	if err != nil {
		return nil, err
	}
	var links []trialLink
	for _, t := range list {
		text := fmt.Sprintf("%s, %s %d is next", t.Name, t.Unit, len(t.Units)+1)
		if n := len(t.Units); n > 0 && t.Units[n-1].Status == journal.UnitOpen {
			text = fmt.Sprintf("%s, %s %d is started", t.Name, t.Unit, n)
		}
		links = append(links, trialLink{"/trials/" + t.ID.String(), text})
	}
	return links, nil
}
