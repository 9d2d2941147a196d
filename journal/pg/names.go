package pg

import (
	"context"

	"rigtally/journal"
)

// Rename gives a thing another name, to a rig in all its revisions; its former name stays as an alias. A name that
// something else has is Invalid: the two are to be merged instead. A claim on it says the new name.
func (s *Store) Rename(ctx context.Context, t journal.Thing, name string) (journal.Changed, error) {
	return journal.Changed{}, errSoon
}

// OwnKnots lists the knots of own names that rigs and pulls have, by name.
func (s *Store) OwnKnots(ctx context.Context) ([]string, error) { return nil, errSoon }

// Reading is what was chosen for a sheet of these headers the last time, as JSON that the caller understands.
func (s *Store) Reading(ctx context.Context, headers []string) (rules []byte, known bool, err error) {
	return nil, false, errSoon
}

// KeepReading remembers what was chosen for sheets of these headers, in the place of what was.
func (s *Store) KeepReading(ctx context.Context, headers []string, rules []byte) error {
	return errSoon
}

// ForgetReading forgets what was chosen for sheets of these headers.
func (s *Store) ForgetReading(ctx context.Context, headers []string) error { return errSoon }
