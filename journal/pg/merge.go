package pg

import (
	"context"

	"rigtally/journal"
)

// Merge makes two things one: all that names from names into from then on, and from is gone. Its name stays as an alias.
// What can't be one is Invalid, with the reason: two rigs that are tied differently, anglers of two accounts, a session
// that one guided for the other, a trial or claim that compares the two.
func (s *Store) Merge(ctx context.Context, from, into journal.Thing) (journal.Changed, error) {
	return journal.Changed{}, errSoon
}
