package page

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"rigtally/journal"
	"rigtally/web/form"
)

// See goes on to another page once something is done.
func See(w http.ResponseWriter, r *http.Request, address string) error {
	http.Redirect(w, r, address, http.StatusSeeOther)
	return nil
}

// Doing makes an action that does something to what the address names, as it was shown,
// and goes on to an address, in which {id} stands for the same.
func Doing(do func(ctx context.Context, id journal.ID, seen int) error, then string) Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := ID(r)
		if err != nil {
			return err
		}
		if err := do(r.Context(), id, Seen(r)); err != nil {
			return err
		}
		return See(w, r, strings.ReplaceAll(then, "{id}", id.String()))
	}
}

// Saving is a form on its way into the journal.
type Saving struct {
	Form  *form.Form
	Store func() (then string, err error) // stores what the form says, and tells where to go then
	Held  func(any) string                // in what the journal's own differs, after a conflict; nil where nothing has versions
	Again func(status int) error          // shows the form again with what is wrong
}

// Do stores what the form says, unless something is wrong with it.
func (s Saving) Do(w http.ResponseWriter, r *http.Request) (err error) {
	then := ""
	if len(s.Form.Faults) == 0 {
		then, err = s.Store()
	}
	var invalid *journal.Invalid
	switch {
	case errors.As(err, &invalid):
		s.Form.Refuse(invalid)
	case s.Held != nil && s.Form.Beaten(err, s.Held):
		return s.Again(http.StatusConflict)
	case err != nil:
		return err
	}
	if len(s.Form.Faults) > 0 {
		return s.Again(http.StatusUnprocessableEntity)
	}
	return See(w, r, then)
}

// WhyNot says why a question has no answer: it can't be asked. Any other error stays one.
func WhyNot(err error) (problems []string, _ error) {
	var invalid *journal.Invalid
	if errors.As(err, &invalid) {
		return form.Sentences(invalid), nil
	}
	return nil, err
}

// Status is the status of a page that says what is wrong with its question.
func Status(problems []string) int {
	if len(problems) > 0 {
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}
