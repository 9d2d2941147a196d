// Package page is what the pages of every feature share: the frame around them, errors as
// pages, answers for programs, figures, and forms on their way into the journal.
package page

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"strconv"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// Desk is what the pages of every feature work with, for one person: the store shows and changes what is theirs.
type Desk struct {
	Store   *pg.Store
	Address string       // where others reach the pages, without a slash at the end; "" for this machine alone
	Trouble func() error // why the database is away; nil tells nothing
	// LastBackup tells when the journal was last backed up, and why that failed since; nil where nobody does it by itself.
	LastBackup func() (at time.Time, failed string)

	Log       *slog.Logger
	Now       func() time.Time
	templates templates
	found     Kept[any]
}

// NewDesk makes a desk over a journal, with a clock and without a log. It has no templates
// until they are loaded.
func NewDesk(store *pg.Store) *Desk {
	const answers = 24 // kept at once: a page, its file, its figures and their numbers are one
	return &Desk{Store: store, Log: slog.New(slog.DiscardHandler), Now: time.Now, found: Kept[any]{Most: answers, Size: func(any) int { return 1 }}}
}

// For is the same desk for somebody else's store, with nothing kept.
func (d *Desk) For(store *pg.Store) *Desk {
	own := NewDesk(store)
	own.Address, own.Trouble, own.LastBackup, own.Log, own.Now, own.templates = d.Address, d.Trouble, d.LastBackup, d.Log, d.Now, d.templates
	return own
}

// Today returns the day it is in a time zone.
func (d *Desk) Today(zone string) journal.Date { return journal.DateOf(InZone(d.Now(), zone)) }

// InZone is a moment in a time zone; an unknown zone counts as UTC.
func InZone(at time.Time, zone string) time.Time {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		loc = time.UTC
	}
	return at.In(loc)
}

// Action answers one request, or returns the error that the person is to see
// as a page. It must not write before it knows that it will succeed.
type Action func(w http.ResponseWriter, r *http.Request) error

// Route is an address that is served, with what answers there.
type Route struct {
	Pattern string // method and address, as http.ServeMux has them
	Act     Action
	Kept    bool // the answer follows from the address, the journal and the day alone, so that it is kept
	Rivers  bool // and from the readings of its gauges
	For     Audience
}

// Audience is who may ask for an address. To all others it is not there.
type Audience int

// Audiences; a route that names none is not for clients.
const (
	ForGuides  Audience = iota // and owners
	ForAll                     // clients too, who see what is theirs
	ForOwner                   // nobody else
	ForClients                 // what an owner or guide has no use for
)

// Admits reports whether a role is of the audience.
func (a Audience) Admits(role journal.Role) bool {
	switch a {
	case ForAll:
		return true
	case ForOwner:
		return role == journal.RoleOwner
	case ForClients:
		return role == journal.RoleClient
	}
	return role == journal.RoleOwner || role == journal.RoleGuide
}

// Ask asks a question of the journal, or hands out what it came to; that is never changed by
// anyone. The request tells questions apart: its type those of different kinds, its content those of one.
func Ask[R, A any](ctx context.Context, d *Desk, r R, ask func(context.Context) (A, error)) (a A, err error) {
	text, err := json.Marshal(r)
	if err != nil {
		return a, fmt.Errorf("tell the question %T: %w", r, err)
	}
	revision, err := d.Store.Revision(ctx)
	if err != nil {
		return a, err
	}
	found, err := d.found.Get(ctx, fmt.Sprintf("%T %s", r, text), strconv.FormatInt(revision, 10), func(ctx context.Context) (any, error) { return ask(ctx) })
	a, _ = found.(A)
	return a, err
}
