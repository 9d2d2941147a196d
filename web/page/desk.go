// Package page is what the pages of every feature share: the frame around them, errors as
// pages, answers for programs, figures, and forms on their way into the journal.
package page

import (
	"log/slog"
	"net/http"
	"strconv"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// Desk is what the pages of every feature work with.
type Desk struct {
	Store     *pg.Store
	Log       *slog.Logger
	Now       func() time.Time
	templates templates
	found     keptAnswers
}

// Today returns the day it is in a time zone; an unknown zone counts as UTC.
func (d *Desk) Today(zone string) journal.Date {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		loc = time.UTC
	}
	return journal.DateOf(d.Now().In(loc))
}

// ID reads the id in the address.
func ID(r *http.Request) (journal.ID, error) {
	id, err := journal.ParseID(r.PathValue("id"))
	if err != nil {
		return id, Refuse(http.StatusNotFound, "Not in this journal", "The address does not name anything in this journal; it may be cut short. Open it from a list.")
	}
	return id, nil
}

// Action answers one request, or returns the error that the person is to see
// as a page. It must not write before it knows that it will succeed.
type Action func(w http.ResponseWriter, r *http.Request) error

// Route is an address that is served, with what answers there.
type Route struct {
	Pattern string // method and address, as http.ServeMux has them
	Act     Action
	Kept    bool // the answer follows from the address, the journal and the day alone, so that it is kept
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
