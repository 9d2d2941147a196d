package web

import (
	"net/http"

	"rigtally/prose"
)

type anglersPage struct {
	frame
	Anglers []sessionRow
}

// anglers lists everyone, those who no longer come last.
func (s *Server) anglers(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "", "Anglers")
	if err != nil {
		return err
	}
	list, err := s.store.Anglers(r.Context())
	if err != nil {
		return err
	}
	p := anglersPage{frame: fr}
	for _, active := range []bool{true, false} {
		for _, a := range list {
			if a.Active != active {
				continue
			}
			more := prose.Capital(string(a.Kind))
			if !active {
				more += " · not offered when logging"
			}
			p.Anglers = append(p.Anglers, sessionRow{"/anglers/" + a.ID.String(), a.Name, more})
		}
	}
	return s.render(w, http.StatusOK, "anglers", p)
}
