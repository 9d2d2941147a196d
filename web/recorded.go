package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"rigtally/analytics/quality"
	"rigtally/journal"
	"rigtally/prose"
)

type recordedPage struct {
	frame
	Undo    *undoMark
	Lead    string
	Runs    []runRow
	RunsSay string
	Anglers []recordedAngler
}

// runRow is a run of which no count seems to have been kept.
type runRow struct{ Text, Says, Mark string }

// recordedAngler is a table of what an angler kept count of.
type recordedAngler struct {
	Name string
	Rows []prose.CountedRow
}

// undoMark takes back what was just marked: that it is assumed again, or that count was kept.
type undoMark struct {
	Angler, From, To string
	Kept             []string
	Forget           bool
}

// recorded shows what was counted, and where that is doubtful.
func (s *Server) recorded(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "sessions", "What was counted")
	if err != nil {
		return err
	}
	c, err := quality.WhatWasCounted(r.Context(), s.store)
	if err != nil {
		return err
	}
	anglers, err := s.store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p := recordedPage{frame: fr, Lead: recordedLead(c), Undo: undoAsked(r.URL.Query(), anglers)}
	ids := map[string]string{}
	for _, a := range anglers {
		ids[a.Name] = a.ID.String()
	}
	if len(c.Runs) > 0 {
		p.RunsSay = prose.RunsSay(c)
	}
	for _, run := range c.Runs {
		v := url.Values{"angler": {ids[run.Angler]}, "from": {run.First.String()}, "to": {run.Last.String()}, "not": {run.Kind.String()}}
		p.Runs = append(p.Runs, runRow{run.Angler + ": " + run.Kind.Title(), prose.RunTells(run) + ".", "/recorded/mark?" + v.Encode()})
	}
	for _, row := range prose.CountedRows(c) {
		if n := len(p.Anglers); n == 0 || p.Anglers[n-1].Name != row.Angler {
			p.Anglers = append(p.Anglers, recordedAngler{Name: row.Angler})
		}
		last := &p.Anglers[len(p.Anglers)-1]
		row.Months = strings.NewReplacer("-", "\u2011", " to", "\u00a0to").Replace(row.Months) // months stay whole
		last.Rows = append(last.Rows, row)
	}
	return s.render(w, http.StatusOK, "recorded", p)
}

// recordedLead sums up what was said of stints.
func recordedLead(c quality.Counted) string {
	stints, assumed := 0, 0
	for _, m := range c.Months {
		stints, assumed = stints+m.Stints, assumed+m.Assumed
	}
	all := count(stints, "stint", "stints")
	switch assumed {
	case 0:
		return "Every one of " + all + " says what was counted."
	case stints:
		return "Nobody said what was counted in the " + all + ": everything is taken to have been."
	}
	return fmt.Sprintf("Nobody said what was counted in %d of %s: everything is taken to have been.", assumed, all)
}

// undoAsked reads what the address offers to take back; nil where it makes no sense.
func undoAsked(q url.Values, anglers []journal.Angler) *undoMark {
	if q.Get("marked") == "" {
		return nil
	}
	f := &form{values: q}
	m := f.mark()
	if len(f.faults) > 0 || m.Validate() != nil {
		return nil
	}
	for _, a := range anglers {
		if a.ID == m.Angler {
			return &undoMark{m.Angler.String(), m.From.String(), m.To.String(), q["kept"], m.Forget}
		}
	}
	return nil
}
