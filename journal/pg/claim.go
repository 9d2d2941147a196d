package pg

import (
	"context"

	"rigtally/journal"
)

var claims = &shelf[journal.Claim]{
	table: tableOf[journal.Claim]("claim", "outfit_id"),
	what:  "claim", called: "claim", order: "created_at, id",
	start: journal.StartingClaims,
	mark:  func(c *journal.Claim) marks { return marks{c.ID, &c.Version, &c.CreatedAt, &c.RetiredAt} },
	equal: journal.Claim.Equal,
	carry: func(c, held *journal.Claim) {
		if held == nil {
			return
		}
		if c.Source = held.Source; !c.States(*held) {
			c.Source = journal.OwnClaim
		}
	},
}

// Claims lists every claim, the retired ones too, oldest first. The first use
// of a journal's claims sets the starting board up.
func (s *Store) Claims(ctx context.Context) ([]journal.Claim, error) { return claims.all(ctx, s) }

// ClaimByID returns a claim, or ErrNotFound.
func (s *Store) ClaimByID(ctx context.Context, id journal.ID) (journal.Claim, error) {
	return claims.byID(ctx, s, id)
}

// SaveClaim adds a claim, or changes the one of the same id, and returns it as
// stored. A change must carry the version that was edited, and is a Conflict when
// the journal holds another. It keeps when the claim was added and whether it is
// retired; when it states something else, it is the user's own from then on.
func (s *Store) SaveClaim(ctx context.Context, c journal.Claim) (journal.Claim, error) {
	return save(ctx, s, claims, c)
}

// RetireClaim takes a claim off the board, if it is still the version that was
// seen; 0 is any. It is kept, but no longer tested.
func (s *Store) RetireClaim(ctx context.Context, id journal.ID, seen int) error {
	return claims.take(ctx, s, "retire", id, seen, true)
}

// RestoreClaim puts a retired claim back on the board, if it is still the version
// that was seen; 0 is any.
func (s *Store) RestoreClaim(ctx context.Context, id journal.ID, seen int) error {
	return claims.take(ctx, s, "restore", id, seen, false)
}
