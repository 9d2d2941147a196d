package pg

import (
	"context"

	"rigtally/journal"
)

// ListKind is a kind of thing that lists show with its id.
type ListKind string

// What is found by the beginning of its id.
const (
	ListSessions ListKind = "session"
	ListDeleted  ListKind = "deleted session"
	ListRigs     ListKind = "rig"
	ListClaims   ListKind = "claim"
	ListTrials   ListKind = "trial"
	ListPulls    ListKind = "bench pull" // deleted or not
	ListSteps    ListKind = "step"
	ListAnglers  ListKind = "angler"
	ListWaters   ListKind = "water"
	ListRules    ListKind = "rule set"
)

// FindID finds the one thing of a kind whose id begins so, with at least 4 characters; a whole id is one too. Nothing
// is ErrNotFound, and a beginning of several is Invalid and lists what it may be.
func (s *Store) FindID(ctx context.Context, kind ListKind, beginning string) (journal.ID, error) {
	return journal.ID{}, errSoon
}

// Beginnings gives for each id the shortest beginning, of at least 4 characters, that no other thing of the kind has.
func (s *Store) Beginnings(ctx context.Context, kind ListKind, ids []journal.ID) (map[journal.ID]string, error) {
	return nil, errSoon
}
