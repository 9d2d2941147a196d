package web

import "net/http"

type todayPage struct {
	frame
}

func (s *Server) today(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r, "today", "Today")
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "today", todayPage{frame: f})
}
