package web

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"rigtally/analytics/caution"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

type todayPage struct {
	frame
	Empty    bool
	NoRigs   bool
	Begin    beginForm
	Trials   []link
	Sessions []sessionRow
	Week     []fact
	Warm     string // the water temperature at which to ask the agency
}

// fact is a number in short with what it counts.
type fact struct{ Name, Value string }

const recentSessions = 5

// todayPage shows the way to the form, the last sessions and this week in short.
func (s *Server) todayPage(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "today", "Today")
	if err != nil {
		return err
	}
	lines, total, err := s.store.SessionLines(r.Context(), journal.SessionFilter{Limit: recentSessions})
	if err != nil {
		return err
	}
	day := s.today(fr.Outfit.TimeZone)
	monday := journal.DateOf(day.In(time.UTC).AddDate(0, 0, -int(day.In(time.UTC).Weekday()+6)%7))
	week, err := s.store.TotalsBetween(r.Context(), monday, day)
	if err != nil {
		return err
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	begin, err := s.beginForm(r.Context(), k, fr.Units)
	if err != nil {
		return err
	}
	trials, err := s.trialLinks(r.Context())
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "today", todayPage{frame: fr, Trials: trials, Empty: total == 0, NoRigs: len(k.rigs) == 0, Begin: begin, Sessions: sessionRows(lines), Week: weekFigures(week), Warm: units.FormatTemperature(caution.WarmStopC, fr.Units)})
}

// weekFigures is empty when nothing was fished.
func weekFigures(t journal.Totals) []fact {
	if t.Sessions == 0 {
		return nil
	}
	lost := units.FormatDuration(float64(t.MinutesLost.N))
	switch {
	case t.MinutesLost.Known() == nil:
		lost = "no count of minutes"
	case !t.MinutesLost.Whole():
		lost = "at least " + lost
	}
	return []fact{
		{"fished", units.FormatDuration(t.Minutes)},
		{"in", prose.Plural(t.Sessions, "session", "sessions")},
		{"on", prose.CountFact(t.Hookups, "hookup", "hookups")},
		{"brought in", prose.CountFact(t.Landed, "fish", "fish")},
		{"undone", prose.CountFact(t.Tangles, "tangle", "tangles")},
		{"lost to them", lost},
	}
}

// trialLinks lead to the running trials from where fishing begins.
func (s *Server) trialLinks(ctx context.Context) ([]link, error) {
	list, err := s.store.RunningTrials(ctx)
	if err != nil {
		return nil, err
	}
	var links []link
	for _, t := range list {
		text := fmt.Sprintf("%s, %s %d is next", t.Name, t.Unit, len(t.Units)+1)
		if n := len(t.Units); n > 0 && t.Units[n-1].Status == journal.UnitOpen {
			text = fmt.Sprintf("%s, %s %d is started", t.Name, t.Unit, n)
		}
		links = append(links, link{"/trials/" + t.ID.String(), text})
	}
	return links, nil
}
