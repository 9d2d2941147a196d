package web

import (
	"net/http"
	"sync"
)

// keptLists are what the log form was last filled from. While the database does
// not answer, a form that is sent can still be shown with what was typed.
type keptLists struct {
	mu    sync.Mutex
	frame frame // its outfit and units
	known known
	kept  bool
}

// toLog reads what a log form needs. When the journal does not answer, it is what
// was read last, and gone says why.
func (s *Server) toLog(r *http.Request, title string) (fr frame, k known, gone, err error) {
	if fr, err = s.frame(r, "today", title); err == nil {
		k, err = s.known(r.Context())
	}
	l := &s.lists
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case err == nil:
		l.frame, l.known, l.kept = frame{Outfit: fr.Outfit, Units: fr.Units}, k, true
		return fr, k, nil, nil
	case !l.kept || r.Context().Err() != nil:
		return fr, k, nil, err
	}
	fr = l.frame
	fr.Tab, fr.Title = "today", title
	return fr, l.known, err, nil
}
