package web

import (
	"net/http"
	"strings"

	"rigtally/prose"
)

type watersPage struct {
	frame
	Waters []sessionRow
}

// waters lists every water with its beats.
func (s *Server) waters(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r, "", "Waters")
	if err != nil {
		return err
	}
	list, err := s.store.Waters(r.Context())
	if err != nil {
		return err
	}
	p := watersPage{frame: fr}
	for _, water := range list {
		more := []string{prose.Capital(string(water.Kind))}
		for _, b := range water.Beats {
			more = append(more, b.Name)
		}
		p.Waters = append(p.Waters, sessionRow{"/waters/" + water.ID.String(), water.Name, strings.Join(more, " · ")})
	}
	return s.render(w, http.StatusOK, "waters", p)
}
