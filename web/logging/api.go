package logging

import (
	"errors"
	"net/http"

	"rigtally/journal"
	"rigtally/web/form"
	"rigtally/web/page"
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
func (s *Pages) api(act page.Action) page.Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		if err := act(w, r); err != nil {
			return s.refuseJSON(w, r, err)
		}
		return nil
	}
}

func (s *Pages) refuseJSON(w http.ResponseWriter, r *http.Request, err error) error {
	var said *refusedError
	var invalid *journal.Invalid
	var tooBig *http.MaxBytesError
	switch {
	case errors.As(err, &said):
		return page.SendJSON(w, said.status, said.refused)
	case errors.As(err, &invalid):
		return page.SendJSON(w, http.StatusUnprocessableEntity, refused{Error: "invalid", Problems: problemsOf(form.Sentences(invalid), nil, nil)})
	case errors.As(err, &tooBig):
		return page.SendJSON(w, http.StatusRequestEntityTooLarge, refused{Error: "too-large", Problems: []problem{{Says: "What was sent is larger than a session can be, so none of it was kept."}}})
	case errors.Is(err, journal.ErrNotFound):
		return page.SendJSON(w, http.StatusNotFound, refused{Error: "missing", Problems: []problem{{Says: "The journal does not hold what this belongs to. It may have been deleted."}}})
	case page.Unavailable(err):
		return page.SendJSON(w, http.StatusServiceUnavailable, refused{Error: "unavailable", Problems: []problem{{Says: s.NoteUnavailable(w, r, err)}}})
	}
	reference := page.NewReference()
	s.Log.Error("request failed", "reference", reference, "method", r.Method, "path", r.URL.Path, "error", err)
	return page.SendJSON(w, http.StatusInternalServerError, refused{Error: "failed",
		Problems: []problem{{Says: "This is a fault of the program or its database, not of what you entered. Nothing was half saved. It is tried again; the log tells more under " + reference + "."}}})
}

// refusedError is an answer for programs that an action gives instead of its own.
type refusedError struct {
	status  int
	refused refused
}

func (e *refusedError) Error() string { return e.refused.Error }
