package main

import (
	"context"
	"errors"
	"fmt"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// logAsked asks for a session step by step and stores it. What was said is kept in
// a file from the first answer on, and taken out when it is stored or not wanted, so
// that no refusal and no failure loses it.
func (p *program) logAsked(ctx context.Context, store *pg.Store, pl planner, given *logFlags) error {
	last, err := lastSession(ctx, store)
	if err != nil {
		return err
	}
	a := p.asker(ctx)
	kept, err := p.openDraft()
	if err != nil {
		return err
	}
	if err := kept.goOn(ctx, a); err != nil {
		return err
	}
	a.say("One session, step by step. Enter takes what stands in [brackets] or skips; ? explains; back goes back; quit stores nothing.\n\n")
	for {
		err := p.askOnce(ctx, store, inquiry{pl, last}, kept, given)
		switch {
		case err == nil, errors.Is(err, errUnwanted):
			if gone := kept.remove(); gone != nil {
				p.note("%v", gone)
			}
			if err != nil {
				return errStopped
			}
			return nil
		case errors.Is(err, errBack):
			a.say("Go through it again; Enter keeps what you said.\n\n")
		case journal.IsInvalid(err), journal.IsDoubtful(err), errors.Is(err, journal.ErrConflict), isUsage(err):
			a.say("\nThis can't be stored: %v.\nGo through it again; Enter keeps what you said.\n\n", err)
			contents, err := store.Directory(ctx) // someone else may have added what stands in the way
			if err != nil {
				return kept.stays(err)
			}
			pl.names = namesOf(contents)
		default:
			return kept.stays(err)
		}
	}
}

// errUnwanted says that the person wants nothing of it stored.
var errUnwanted = errors.New("not wanted")

func isUsage(err error) bool {
	var wrong *usageError
	return errors.As(err, &wrong)
}

// askOnce goes through the questions once and stores the session if the person
// agrees to it.
func (p *program) askOnce(ctx context.Context, store *pg.Store, in inquiry, kept *logDraft, given *logFlags) error {
	a := p.asker(ctx)
	if err := a.interview(ctx, kept.Answers, in.questions, kept.save); err != nil {
		return err
	}
	session, err := in.pl.fromForm(formOf(kept.Answers))
	if err != nil {
		return err
	}
	text, err := session.text()
	if err != nil {
		return err
	}
	a.say("\n%s", text)
	answer, err := a.ask(ctx, yesNo("store", "Store it", "yes stores the session as shown; no stores nothing.", yes))
	switch {
	case err != nil:
		return err
	case !isYes(answer):
		return errUnwanted
	}
	a.say("\n")
	return p.keep(ctx, store, session, given)
}

// stays says of a failure that what was typed is kept.
func (d *logDraft) stays(err error) error {
	if len(d.Answers) == 0 || d.lost {
		return err
	}
	return fmt.Errorf("%w; what you said is kept, and \"rigtally log\" offers to go on with it", err)
}
