package web

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"rigtally/journal"
)

// see goes on to another page once something is done.
func see(w http.ResponseWriter, r *http.Request, address string) error {
	http.Redirect(w, r, address, http.StatusSeeOther)
	return nil
}

// doing makes an action that does something to what the address names, as it was shown,
// and goes on to an address, in which {id} stands for the same.
func doing(do func(ctx context.Context, id journal.ID, seen int) error, then string) action {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := pathID(r)
		if err != nil {
			return err
		}
		if err := do(r.Context(), id, seenIn(r)); err != nil {
			return err
		}
		return see(w, r, strings.ReplaceAll(then, "{id}", id.String()))
	}
}

// saving is a form on its way into the journal.
type saving struct {
	form  *form
	store func() (then string, err error) // stores what the form says, and tells where to go then
	held  func(any) string                // in what the journal's own differs, after a conflict; nil where nothing has versions
	again func(status int) error          // shows the form again with what is wrong
}

// do stores what the form says, unless something is wrong with it.
func (s saving) do(w http.ResponseWriter, r *http.Request) (err error) {
	then := ""
	if len(s.form.faults) == 0 {
		then, err = s.store()
	}
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		s.form.refuse(invalid)
	case s.held != nil && s.form.beaten(err, s.held):
		return s.again(http.StatusConflict)
	case err != nil:
		return err
	}
	if len(s.form.faults) > 0 {
		return s.again(http.StatusUnprocessableEntity)
	}
	return see(w, r, then)
}

// whyNot says why a question has no answer: it can't be asked. Any other error stays one.
func whyNot(err error) (problems []string, _ error) {
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		return sentences(invalid), nil
	}
	return nil, err
}

// statusOf is the status of a page that says what is wrong with its question.
func statusOf(problems []string) int {
	if len(problems) > 0 {
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}
