package pg

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

const claimColumns = `id, words, outcome, factor, direction, level, versus, given, source, created_at, retired_at, version`

// Claims lists every claim, the retired ones too, oldest first. The first use
// of a journal's claims sets the starting board up.
func (s *Store) Claims(ctx context.Context) ([]journal.Claim, error) {
	list, err := s.listClaims(ctx)
	if err != nil || len(list) > 0 {
		return list, err
	}
	if err := s.write(ctx, "set up the claims", s.startClaims(ctx)); err != nil {
		return nil, err
	}
	return s.listClaims(ctx)
}

func (s *Store) listClaims(ctx context.Context) ([]journal.Claim, error) {
	list, err := s.readClaims(ctx, s.pool, "created_at, id")
	return list, explain("list the claims", err)
}

// querier is a pool or a transaction.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

func (s *Store) readClaims(ctx context.Context, from querier, order string) ([]journal.Claim, error) {
	rows, err := from.Query(ctx, `SELECT `+claimColumns+` FROM claim WHERE outfit_id = $1 ORDER BY `+order, s.outfit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, readClaim)
}

func readClaim(row pgx.CollectableRow) (journal.Claim, error) {
	var c journal.Claim
	err := row.Scan(&c.ID, &c.Words, &c.Outcome, &c.Factor, &c.Direction, &c.Level, &c.Versus, &c.Given, &c.Source, &c.CreatedAt, &c.RetiredAt, &c.Version)
	c.Normalize()
	return c, err
}

// startClaims fills an empty board. Claims are retired but never deleted, so an
// empty board is one that has not been used.
func (s *Store) startClaims(ctx context.Context) func(pgx.Tx) error {
	return func(tx pgx.Tx) error {
		var used bool
		if err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM claim WHERE outfit_id = $1)`, s.outfit).Scan(&used); err != nil || used {
			return err
		}
		batch := &pgx.Batch{}
		for _, c := range journal.StartingClaims() {
			batch.Queue(insertInto("claim", claimTable)+` ON CONFLICT DO NOTHING`, claimRow(c, s.outfit)...) // another process may be first
		}
		return tx.SendBatch(ctx, batch).Close()
	}
}

var claimTable = []string{"outfit_id", "id", "words", "outcome", "factor", "direction", "level", "versus", "given", "source", "created_at", "retired_at", "version"}

func claimRow(c journal.Claim, outfit journal.ID) []any {
	array := func(list []string) []string { return append([]string{}, list...) } // nil would be NULL
	return []any{outfit, c.ID, c.Words, c.Outcome, c.Factor, c.Direction, array(c.Level), array(c.Versus), array(c.Given), c.Source, c.CreatedAt, c.RetiredAt, max(1, c.Version)}
}

// ClaimByID returns a claim, or ErrNotFound.
func (s *Store) ClaimByID(ctx context.Context, id journal.ID) (journal.Claim, error) {
	list, err := s.Claims(ctx)
	if err != nil {
		return journal.Claim{}, err
	}
	for _, c := range list {
		if c.ID == id {
			return c, nil
		}
	}
	return journal.Claim{}, fmt.Errorf("claim %s: %w", id, journal.ErrNotFound)
}

// SaveClaim adds a claim, or changes the one of the same id, and returns it as
// stored. A change must carry the version that was edited, and is a Conflict when
// the journal holds another. It keeps when the claim was added and whether it is
// retired; when it states something else, it is the user's own from then on.
func (s *Store) SaveClaim(ctx context.Context, c journal.Claim) (journal.Claim, error) {
	c.Normalize()
	if err := c.Validate(); err != nil {
		return journal.Claim{}, err
	}
	err := s.writeClaims(ctx, "save the claim", func(tx pgx.Tx) error {
		held, err := s.heldClaim(ctx, tx, c.ID)
		switch {
		case errors.Is(err, journal.ErrNotFound) && c.Version > 0:
			return &journal.Conflict{What: "claim", Seen: c.Version}
		case errors.Is(err, journal.ErrNotFound):
			if c.CreatedAt.IsZero() {
				c.CreatedAt = time.Now().UTC().Truncate(time.Microsecond)
			}
			c.Version = 1
			return s.addClaims(ctx, tx, []journal.Claim{c})
		case err != nil:
			return err
		}
		seen := c.Version
		c.CreatedAt, c.RetiredAt, c.Source, c.Version = held.CreatedAt, held.RetiredAt, held.Source, held.Version
		if !c.States(held) {
			c.Source = journal.OwnClaim
		}
		switch {
		case c.Equal(held):
			return errUnchanged // sent twice
		case seen != held.Version:
			return &journal.Conflict{What: "claim", Seen: seen, Held: held.Version, Stored: held}
		}
		c.Version++
		return s.addClaims(ctx, tx, []journal.Claim{c})
	})
	return c, err
}

// writeClaims runs f on a board that has been set up.
func (s *Store) writeClaims(ctx context.Context, doing string, f func(pgx.Tx) error) error {
	return s.write(ctx, doing, func(tx pgx.Tx) error {
		if err := s.startClaims(ctx)(tx); err != nil {
			return err
		}
		return f(tx)
	})
}

func (s *Store) heldClaim(ctx context.Context, tx pgx.Tx, id journal.ID) (journal.Claim, error) {
	rows, err := tx.Query(ctx, `SELECT `+claimColumns+` FROM claim WHERE outfit_id = $1 AND id = $2`, s.outfit, id)
	if err != nil {
		return journal.Claim{}, err
	}
	held, err := pgx.CollectExactlyOneRow(rows, readClaim)
	if errors.Is(err, pgx.ErrNoRows) {
		err = fmt.Errorf("claim %s: %w", id, journal.ErrNotFound)
	}
	return held, err
}

// addClaims writes claims as they are, in the place of those of the same ids.
func (s *Store) addClaims(ctx context.Context, tx pgx.Tx, list []journal.Claim) error {
	batch := &pgx.Batch{}
	for _, c := range list {
		batch.Queue(insertInto("claim", claimTable)+` ON CONFLICT (outfit_id, id) DO UPDATE SET words = excluded.words, outcome = excluded.outcome,
			factor = excluded.factor, direction = excluded.direction, level = excluded.level, versus = excluded.versus, given = excluded.given,
			source = excluded.source, created_at = excluded.created_at, retired_at = excluded.retired_at,
			version = greatest(excluded.version, claim.version + 1)`, claimRow(c, s.outfit)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// RetireClaim takes a claim off the board, if it is still the version that was
// seen; 0 is any. It is kept, but no longer tested.
func (s *Store) RetireClaim(ctx context.Context, id journal.ID, seen int) error {
	return s.setRetired(ctx, id, seen, true)
}

// RestoreClaim puts a retired claim back on the board, if it is still the version
// that was seen; 0 is any.
func (s *Store) RestoreClaim(ctx context.Context, id journal.ID, seen int) error {
	return s.setRetired(ctx, id, seen, false)
}

func (s *Store) setRetired(ctx context.Context, id journal.ID, seen int, retired bool) error {
	return s.writeClaims(ctx, "retire or restore the claim", func(tx pgx.Tx) error {
		held, err := s.heldClaim(ctx, tx, id)
		if err == nil && held.Retired() == retired {
			return errUnchanged
		}
		if err == nil {
			err = journal.Stale("claim", seen, held.Version, false, held)
		}
		if err != nil {
			return err
		}
		_, err = tx.Exec(ctx, `UPDATE claim SET retired_at = CASE WHEN $3 THEN now() END, version = version + 1 WHERE outfit_id = $1 AND id = $2`, s.outfit, id, retired)
		return err
	})
}
