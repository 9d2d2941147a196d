package pg

import (
	"context"
	"errors"

	"rigtally/journal"
)

var errSoon = errors.New("not built yet")

// Steps lists the latest steps, those taken back too, the newest first. A client sees the client's own.
func (s *Store) Steps(ctx context.Context, limit int) ([]journal.Step, error) { return nil, errSoon }

// StepByID returns a step, or ErrNotFound.
func (s *Store) StepByID(ctx context.Context, id journal.ID) (journal.Step, error) {
	return journal.Step{}, errSoon
}

// Undo takes a step back, in one transaction; the zero id is the newest step of this person that stands. Sessions that
// were written since stay, and what was left is told with the reason. A step that was taken back already, or is older
// than journal.UndoDays, is Invalid.
func (s *Store) Undo(ctx context.Context, id journal.ID) (journal.Undone, error) {
	return journal.Undone{}, errSoon
}
