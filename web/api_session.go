package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"rigtally/journal"
)

// sentSession is a session as a phone sends it, with the names of people and
// waters that it knows no id for.
type sentSession struct {
	Session journal.Session `json:"session"`
	Angler  string          `json:"angler,omitempty"`
	Water   string          `json:"water,omitempty"`
	Beat    string          `json:"beat,omitempty"`
}

// apiSession stores a session that a phone kept. Sent again, it changes nothing
// and is answered in the same way, so a phone may send until it hears an answer.
func (s *Server) apiSession(w http.ResponseWriter, r *http.Request) error {
	id, err := journal.ParseID(r.PathValue("id"))
	if err != nil {
		return unreadable("id", r.PathValue("id"), err.Error())
	}
	sent, err := readSent(r)
	if err != nil {
		return err
	}
	if sent.Session.ID != id {
		return unreadable("session.id", sent.Session.ID, "the id of the session is another than that of the address; send it to its own address")
	}
	k, err := s.known(r.Context())
	if err != nil {
		return err
	}
	if err := s.settle(r.Context(), &sent); err != nil {
		return err
	}
	stored, err := s.storeEntry(r.Context(), entry{sent.Session, sent.Angler, sent.Water, sent.Beat}, k)
	if errors.Is(err, journal.ErrConflict) || errors.Is(err, journal.ErrNotFound) {
		return s.conflictOf(r.Context(), id, err)
	}
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		return &refusedError{http.StatusUnprocessableEntity, refused{Error: "invalid", Problems: problemsOf(invalid, &sent)}}
	}
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, map[string]journal.Session{"session": stored})
}

func readSent(r *http.Request) (sent sentSession, err error) {
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	err = d.Decode(&sent)
	var tooBig *http.MaxBytesError
	var wrong *json.UnmarshalTypeError
	switch {
	case err == nil:
		return sent, nil
	case errors.As(err, &tooBig):
		return sent, err
	case errors.As(err, &wrong):
		return sent, unreadable(wrong.Field, wrong.Value, fmt.Sprintf("%s holds a %s; write a %s", wrong.Field, wrong.Value, wrong.Type))
	}
	return sent, unreadable("", nil, "this is not a session as the journal writes it ("+strings.TrimPrefix(err.Error(), "json: ")+"); send it as export does")
}

func unreadable(field string, value any, says string) error {
	return &refusedError{http.StatusBadRequest, refused{Error: "unreadable", Problems: []problem{{field, value, sentence(says)}}}}
}

// settle fills in what a phone may leave open.
func (s *Server) settle(ctx context.Context, sent *sentSession) error {
	sent.Angler, sent.Water, sent.Beat = strings.TrimSpace(sent.Angler), strings.TrimSpace(sent.Water), strings.TrimSpace(sent.Beat)
	const fast = 5 * time.Minute // how far a phone's clock may be ahead
	if sent.Session.LoggedAt.After(s.now().Add(fast)) {
		sent.Session.LoggedAt = time.Time{}
	}
	if sent.Session.TimeZone != "" {
		return nil
	}
	o, err := s.store.Outfit(ctx)
	sent.Session.TimeZone = o.TimeZone
	return err
}

// conflictOf tells what the journal holds instead.
func (s *Server) conflictOf(ctx context.Context, id journal.ID, cause error) error {
	answer := refused{Error: "conflict", Problems: []problem{{Says: "The journal holds another version of this session. Nothing was changed; choose which one to keep."}}}
	stored, err := s.store.SessionByID(ctx, id)
	switch {
	case err == nil:
		answer.Stored = &stored
		return &refusedError{http.StatusConflict, answer}
	case !errors.Is(err, journal.ErrNotFound):
		return err
	}
	list, err := s.store.DeletedSessions(ctx)
	if err != nil {
		return err
	}
	for _, d := range list {
		if d.ID == id {
			answer.Deleted, answer.Stored = true, &d.Session
			answer.Problems[0].Says = "This session was deleted from the journal. Nothing was changed; choose whether it stays deleted."
			return &refusedError{http.StatusConflict, answer}
		}
	}
	return cause
}
