package page

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
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

// ID reads the id in the address.
func ID(r *http.Request) (journal.ID, error) {
	id, err := journal.ParseID(r.PathValue("id"))
	if err != nil {
		return id, Refuse(http.StatusNotFound, "Not in this journal", "Nothing in this journal has this address; it may be cut short. Open it from a list.")
	}
	return id, nil
}

// At reads what the address names.
func At[T any](r *http.Request, read func(context.Context, journal.ID) (T, error)) (found T, err error) {
	id, err := ID(r)
	if err != nil {
		return found, err
	}
	return read(r.Context(), id)
}

// Of reads what the address names from a list that the journal has.
func Of[T any](r *http.Request, list func(context.Context) ([]T, error), id func(T) journal.ID) (T, error) {
	return At(r, func(ctx context.Context, wanted journal.ID) (found T, err error) {
		all, err := list(ctx)
		if err != nil {
			return found, err
		}
		i := slices.IndexFunc(all, func(x T) bool { return id(x) == wanted })
		if i < 0 {
			return found, journal.ErrNotFound
		}
		return all[i], nil
	})
}

// Seen is the version that a page was shown with and sends back with what is to
// be done to it; 0, any, when it says none.
func Seen(r *http.Request) int {
	n, err := strconv.Atoi(r.PostFormValue("version"))
	if err != nil {
		return 0
	}
	return n
}
