package outing

import (
	"context"
	"errors"
	"fmt"

	"rigtally/cmd/rigtally/terminal"
	"rigtally/journal"
)

// interview asks for a session step by step and stores it. What was said is kept in
// a file from the first answer on, and taken out when it is stored or not wanted, so
// that no refusal and no failure loses it.
func (l *logging) interview(ctx context.Context) error {
	last, err := l.last(ctx)
	if err != nil {
		return err
	}
	a := l.Asker(ctx)
	kept, err := openDraft(l.Program)
	if err != nil {
		return err
	}
	if err := kept.goOn(ctx, a); err != nil {
		return err
	}
	a.Say("One session, step by step. Enter takes what is in [brackets] or skips; ? explains; back goes back; quit stores nothing.\n\n")
	for {
		err := l.askOnce(ctx, script{l.planner, last}, kept)
		switch {
		case err == nil, errors.Is(err, errUnwanted):
			if gone := kept.remove(); gone != nil {
				l.Note("%v", gone)
			}
			if err != nil {
				return terminal.ErrStopped
			}
			return nil
		case errors.Is(err, terminal.ErrBack):
			a.Say("Go through it again; Enter keeps what you said.\n\n")
		case journal.IsInvalid(err), journal.IsDoubtful(err), errors.Is(err, journal.ErrConflict), terminal.IsMisuse(err):
			a.Say("\nThis can't be stored: %v.\nGo through it again; Enter keeps what you said.\n\n", err)
			contents, err := l.Directory(ctx) // someone else may have added what stands in the way
			if err != nil {
				return kept.stays(err)
			}
			l.known = In(contents)
		default:
			return kept.stays(err)
		}
	}
}

// errUnwanted says that the person wants nothing of it stored.
var errUnwanted = errors.New("not wanted")

// askOnce goes through the questions once and stores the session if the person
// agrees to it.
func (l *logging) askOnce(ctx context.Context, s script, kept *kept) error {
	a := l.Asker(ctx)
	if err := a.Interview(ctx, kept.Answers, s.questions, kept.save); err != nil {
		return err
	}
	session, err := l.settled(ctx, func() (plan, error) { return s.fromForm(formOf(kept.Answers)) })
	if err != nil {
		return err
	}
	text, err := session.text()
	if err != nil {
		return err
	}
	a.Say("\n%s", text)
	answer, err := a.Ask(ctx, terminal.YesNo("store", "Store it", "yes stores the session as shown; no stores nothing.", terminal.Yes))
	switch {
	case err != nil:
		return err
	case !terminal.IsYes(answer):
		return errUnwanted
	}
	a.Say("\n")
	return l.keep(ctx, session)
}

// last is the latest session, nil in an empty journal.
func (l *logging) last(ctx context.Context) (*journal.Session, error) {
	lines, _, err := l.SessionLines(ctx, journal.SessionFilter{Limit: 1})
	if err != nil || len(lines) == 0 {
		return nil, err
	}
	s, err := l.SessionByID(ctx, lines[0].ID)
	return &s, err
}

// stays says of a failure that what was typed is kept.
func (d *kept) stays(err error) error {
	if len(d.Answers) == 0 || d.lost {
		return err
	}
	return fmt.Errorf("%w; what you said is kept, and \"rigtally log\" offers to continue it", err)
}
