package web

import (
	"net/http"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

type deletedPage struct {
	frame
	Days     int // for which a session can be brought back
	Sessions []deletedRow
}

type deletedRow struct {
	ID, Title, More string
	Version         int
}

// sessionsDeleted lists what can still be brought back.
func (s *Server) sessionsDeleted(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "sessions", "Deleted sessions")
	if err != nil {
		return err
	}
	list, err := s.store.DeletedSessions(r.Context())
	if err != nil {
		return err
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	p := deletedPage{frame: fr, Days: journal.UndoDays}
	for _, d := range list {
		minutes := 0.0
		for _, st := range d.Stints {
			if st.Minutes != nil {
				minutes += *st.Minutes
			}
		}
		p.Sessions = append(p.Sessions, deletedRow{d.ID.String(), prose.Day(d.Day) + ", " + k.where(d.Session),
			k.who(d.AnglerID) + " · " + units.FormatDuration(minutes) + " · deleted " + prose.Day(journal.DateOf(d.DeletedAt)), d.Version})
	}
	return s.render(w, http.StatusOK, "deleted", p)
}
