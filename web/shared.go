package web

import (
	"errors"
	"net/http"

	"rigtally/journal"
	"rigtally/web/seasons"
)

// shared shows a season to whoever has its link, before the door: as its angler would see it, by itself. What its
// secret is, no log and no other site learns.
func (s *Server) shared(w http.ResponseWriter, r *http.Request) {
	secret := r.PathValue("secret")
	r = r.Clone(r.Context())
	r.URL.Path, r.RequestURI = "/shared/", "/shared/"
	w.Header().Set("X-Robots-Tag", "noindex, nofollow")
	w.Header().Set("Referrer-Policy", "no-referrer")
	s.Handle(func(w http.ResponseWriter, r *http.Request) error {
		err := s.showShared(w, r, secret)
		if errors.Is(err, journal.ErrNotFound) {
			return s.RenderPart(w, http.StatusNotFound, "shared", "shared-gone", nil)
		}
		return err
	}).ServeHTTP(w, r)
}

func (s *Server) showShared(w http.ResponseWriter, r *http.Request, secret string) error {
	share, err := s.store.SharedSeason(r.Context(), secret)
	if err != nil {
		return err
	}
	leave, err := s.limit.enter(r.Context(), share.Outfit)
	if err != nil {
		return err
	}
	defer leave()
	desk := s.Desk.For(s.store.In(share.Outfit, journal.Who{Role: journal.RoleClient, Angler: &share.Angler}))
	return seasons.Shared(desk, share)(w, r)
}
