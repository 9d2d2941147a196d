package page

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"runtime/debug"

	"rigtally/journal"
	"rigtally/web/form"
)

// refusal is an error with the page that the person is to see.
type refusal struct {
	status          int
	title, sentence string
}

// Refuse is an error that the person sees as a page of a title and a sentence.
func Refuse(status int, title, sentence string) error { return &refusal{status, title, sentence} }

func (e *refusal) Error() string { return e.title + ": " + e.sentence }

type problemPage struct {
	Frame
	Sentences []string
	Reference string // ties a failure's page to its entry in the log

	At    string     // where what was sent can be sent again
	Typed url.Values // what that was; empty where it can't
}

// Handle makes an action a handler: its error becomes a page, and so does a panic.
func (d *Desk) Handle(act Action) http.Handler {
	return Noted(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			switch p := recover(); p {
			case nil:
			case http.ErrAbortHandler:
				panic(p)
			default:
				d.failed(w, r, "panic", p, "stack", string(debug.Stack()))
			}
		}()
		if err := act(w, r); err != nil {
			d.fail(w, r, err)
		}
	}))
}

// fail shows an error as a page: what the person can do about it, or that it
// is no fault of theirs.
func (d *Desk) fail(w http.ResponseWriter, r *http.Request, err error) {
	var refused *refusal
	var invalid *journal.Invalid
	var conflict *journal.Conflict
	var tooBig *http.MaxBytesError
	switch {
	case errors.As(err, &refused):
		d.problem(w, r, refused.status, refused.title, refused.sentence)
	case errors.As(err, &invalid):
		d.problem(w, r, http.StatusUnprocessableEntity, "That can’t be right", form.Sentences(invalid)...)
	case errors.Is(err, form.ErrDamaged):
		d.problem(w, r, http.StatusBadRequest, "That could not be read", "The form arrived damaged, so nothing was saved. Go back and send it again.")
	case errors.As(err, &tooBig):
		d.problem(w, r, http.StatusRequestEntityTooLarge, "Too much at once", "What was sent is larger than a form can be, so none of it was saved.")
	case errors.Is(err, journal.ErrNotFound):
		d.problem(w, r, http.StatusNotFound, "Not in this journal", "There is nothing at this address. It may have been deleted, or the address may be cut short.")
	case errors.As(err, &conflict) && conflict.Held > 0:
		d.problem(w, r, http.StatusConflict, "Changed in the meantime", fmt.Sprintf("Someone changed this %s since you opened it: you saw version %d, the journal now has version %d. Nothing was done. Open it again, look at it, and do it there.",
			conflict.What, conflict.Seen, conflict.Held))
	case errors.Is(err, journal.ErrConflict):
		d.problem(w, r, http.StatusConflict, "Changed in the meantime", "The journal now has a different version of this, so nothing was done. Open it again and do it there.")
	case errors.Is(err, context.Canceled) && r.Context().Err() != nil:
		// The browser went away; nobody is there to read a page.
	case Unavailable(err):
		p := problemPage{Frame: Frame{Title: "Not right now"}, Sentences: []string{d.NoteUnavailable(w, r, err)}, At: r.URL.RequestURI(), Typed: typed(r)}
		if len(p.Typed) > 0 && !errors.Is(err, journal.ErrUnsure) {
			p.Sentences = append(p.Sentences, "Nothing that you sent is saved. It is kept on this page, ready to be sent again.")
		}
		d.show(w, r, http.StatusServiceUnavailable, p)
	default:
		d.failed(w, r, "error", err)
	}
}

// failed logs a cause under a reference and shows the reference only.
func (d *Desk) failed(w http.ResponseWriter, r *http.Request, cause ...any) {
	reference := Reference(r.Context())
	d.Log.Error("request failed", append([]any{"reference", reference, "address", r.Pattern}, cause...)...)
	d.show(w, r, http.StatusInternalServerError, problemPage{
		Frame:     Frame{Title: "Something went wrong"},
		Sentences: []string{"This is a fault of the program or its database, not of what you entered. Nothing was half saved. Try again; if it happens again, the log has more under the reference below."},
		Reference: reference,
	})
}

func (d *Desk) problem(w http.ResponseWriter, r *http.Request, status int, title string, sentences ...string) {
	d.show(w, r, status, problemPage{Frame: Frame{Title: title}, Sentences: sentences})
}

func (d *Desk) show(w http.ResponseWriter, r *http.Request, status int, p problemPage) {
	if err := d.Render(w, status, "problem", p); err != nil {
		d.Log.Error("the error page failed", "address", r.Pattern, "error", err)
		http.Error(w, p.Title, status)
	}
}

// Missing answers every address that is in no row of the table.
func Missing(http.ResponseWriter, *http.Request) error {
	return Refuse(http.StatusNotFound, "No such page", "There is nothing at this address. Use the links on this page.")
}
