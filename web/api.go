package web

import (
	"errors"
	"net/http"

	"rigtally/journal"
)

// refused is what a program is told when its request failed.
type refused struct {
	Error    string           `json:"error"` // invalid, doubtful (send it again with "confirmed"), conflict, missing, unreadable, too-large, unavailable, failed
	Problems []problem        `json:"problems"`
	Stored   *journal.Session `json:"stored,omitempty"`  // what the journal holds instead, after a conflict
	Deleted  bool             `json:"deleted,omitempty"` // whether that was deleted and can be brought back
}

// problem is one thing that is wrong: where, with what value, and what to do.
type problem struct {
	Field string `json:"field,omitempty"` // path in what was sent; "" for the whole
	Value any    `json:"value,omitempty"`
	Says  string `json:"says"` // a sentence with the remedy
}

// api makes an action one for programs: its errors are JSON too.
func (s *Server) api(act action) action {
	return func(w http.ResponseWriter, r *http.Request) error {
		if err := act(w, r); err != nil {
			return s.refuseJSON(w, r, err)
		}
		return nil
	}
}

func (s *Server) refuseJSON(w http.ResponseWriter, r *http.Request, err error) error {
	var said *refusedError
	var invalid *journal.Invalid
	var tooBig *http.MaxBytesError
	switch {
	case errors.As(err, &said):
		return sendJSON(w, said.status, said.refused)
	case errors.As(err, &invalid):
		return sendJSON(w, http.StatusUnprocessableEntity, refused{Error: "invalid", Problems: problemsOf(sentences(invalid), nil, nil)})
	case errors.As(err, &tooBig):
		return sendJSON(w, http.StatusRequestEntityTooLarge, refused{Error: "too-large", Problems: []problem{{Says: "What was sent is larger than a session can be, so none of it was kept."}}})
	case errors.Is(err, journal.ErrNotFound):
		return sendJSON(w, http.StatusNotFound, refused{Error: "missing", Problems: []problem{{Says: "The journal does not hold what this belongs to. It may have been deleted."}}})
	case unavailable(err):
		return sendJSON(w, http.StatusServiceUnavailable, refused{Error: "unavailable", Problems: []problem{{Says: s.noteUnavailable(w, r, err)}}})
	}
	reference := newReference()
	s.log.Error("request failed", "reference", reference, "method", r.Method, "path", r.URL.Path, "error", err)
	return sendJSON(w, http.StatusInternalServerError, refused{Error: "failed",
		Problems: []problem{{Says: "This is a fault of the program or its database, not of what you entered. Nothing was half saved. It is tried again; the log tells more under " + reference + "."}}})
}

// refusedError is an answer for programs that an action gives instead of its own.
type refusedError struct {
	status  int
	refused refused
}

func (e *refusedError) Error() string { return e.refused.Error }
