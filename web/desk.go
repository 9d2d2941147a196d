package web

import (
	"log/slog"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// desk is what the pages of every feature work with.
type desk struct {
	store     *pg.Store
	log       *slog.Logger
	now       func() time.Time
	templates templates
	found     keptAnswers
}

// today returns the day it is in a time zone; an unknown zone counts as UTC.
func (d *desk) today(zone string) journal.Date {
	loc, err := time.LoadLocation(zone)
	if err != nil {
		loc = time.UTC
	}
	return journal.DateOf(d.now().In(loc))
}
