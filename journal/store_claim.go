package journal

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

const claimColumns = `id, words, outcome, factor, direction, level, versus, given, source, created_at, retired_at`

// Claims lists every claim, the retired ones too, oldest first. The first use
// of a journal's claims sets the starting board up.
func (s *Store) Claims(ctx context.Context) ([]Claim, error) {
	list, err := s.listClaims(ctx)
	if err != nil || len(list) > 0 {
		return list, err
	}
	if err := s.write(ctx, "set up the claims", s.startClaims(ctx)); err != nil {
		return nil, err
	}
	return s.listClaims(ctx)
}

func (s *Store) listClaims(ctx context.Context) ([]Claim, error) {
	list, err := s.readClaims(ctx, s.pool, "created_at, id")
	return list, explain("list the claims", err)
}

// querier is a pool or a transaction.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

func (s *Store) readClaims(ctx context.Context, from querier, order string) ([]Claim, error) {
	rows, err := from.Query(ctx, `SELECT `+claimColumns+` FROM claim WHERE outfit_id = $1 ORDER BY `+order, s.outfit)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, readClaim)
}

func readClaim(row pgx.CollectableRow) (Claim, error) {
	var c Claim
	err := row.Scan(&c.ID, &c.Words, &c.Outcome, &c.Factor, &c.Direction, &c.Level, &c.Versus, &c.Given, &c.Source, &c.CreatedAt, &c.RetiredAt)
	c.normalize()
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
		for _, c := range StartingClaims() {
			batch.Queue(insertInto("claim", claimTable)+` ON CONFLICT DO NOTHING`, c.row(s.outfit)...) // another process may be first
		}
		return tx.SendBatch(ctx, batch).Close()
	}
}

var claimTable = []string{"outfit_id", "id", "words", "outcome", "factor", "direction", "level", "versus", "given", "source", "created_at", "retired_at"}

func (c Claim) row(outfit ID) []any {
	array := func(list []string) []string { return append([]string{}, list...) } // nil would be NULL
	return []any{outfit, c.ID, c.Words, c.Outcome, c.Factor, c.Direction, array(c.Level), array(c.Versus), array(c.Given), c.Source, c.CreatedAt, c.RetiredAt}
}

// ClaimByID returns a claim, or ErrNotFound.
func (s *Store) ClaimByID(ctx context.Context, id ID) (Claim, error) {
	list, err := s.Claims(ctx)
	if err != nil {
		return Claim{}, err
	}
	for _, c := range list {
		if c.ID == id {
			return c, nil
		}
	}
	return Claim{}, fmt.Errorf("claim %s: %w", id, ErrNotFound)
}

// SaveClaim adds a claim, or changes the one of the same id, and returns it as
// stored. A change keeps when it was added and whether it is retired; when it
// states something else, it is the user's own from then on.
func (s *Store) SaveClaim(ctx context.Context, c Claim) (Claim, error) {
	c.normalize()
	if err := c.Validate(); err != nil {
		return Claim{}, err
	}
	err := s.write(ctx, "save the claim", func(tx pgx.Tx) error {
		if err := s.startClaims(ctx)(tx); err != nil {
			return err
		}
		return s.saveClaim(ctx, tx, &c)
	})
	return c, err
}

func (s *Store) saveClaim(ctx context.Context, tx pgx.Tx, c *Claim) error {
	rows, err := tx.Query(ctx, `SELECT `+claimColumns+` FROM claim WHERE outfit_id = $1 AND id = $2 FOR UPDATE`, s.outfit, c.ID)
	if err != nil {
		return err
	}
	held, err := pgx.CollectExactlyOneRow(rows, readClaim)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		if c.CreatedAt.IsZero() {
			c.CreatedAt = time.Now().UTC().Truncate(time.Microsecond)
		}
		return s.addClaims(ctx, tx, []Claim{*c})
	case err != nil:
		return err
	}
	c.CreatedAt, c.RetiredAt, c.Source = held.CreatedAt, held.RetiredAt, held.Source
	if !c.States(held) {
		c.Source = OwnClaim
	}
	return s.addClaims(ctx, tx, []Claim{*c})
}

// addClaims writes claims as they are, in the place of those of the same ids.
func (s *Store) addClaims(ctx context.Context, tx pgx.Tx, list []Claim) error {
	batch := &pgx.Batch{}
	for _, c := range list {
		batch.Queue(insertInto("claim", claimTable)+` ON CONFLICT (outfit_id, id) DO UPDATE SET words = excluded.words, outcome = excluded.outcome,
			factor = excluded.factor, direction = excluded.direction, level = excluded.level, versus = excluded.versus, given = excluded.given,
			source = excluded.source, created_at = excluded.created_at, retired_at = excluded.retired_at`, c.row(s.outfit)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// RetireClaim takes a claim off the board: it is kept, but no longer tested.
func (s *Store) RetireClaim(ctx context.Context, id ID) error {
	return s.setRetired(ctx, id, `coalesce(retired_at, now())`)
}

// RestoreClaim puts a retired claim back on the board.
func (s *Store) RestoreClaim(ctx context.Context, id ID) error {
	return s.setRetired(ctx, id, `NULL`)
}

func (s *Store) setRetired(ctx context.Context, id ID, to string) error {
	return s.write(ctx, "retire or restore the claim", func(tx pgx.Tx) error {
		if err := s.startClaims(ctx)(tx); err != nil {
			return err
		}
		tag, err := tx.Exec(ctx, `UPDATE claim SET retired_at = `+to+` WHERE outfit_id = $1 AND id = $2`, s.outfit, id)
		if err == nil && tag.RowsAffected() == 0 {
			return fmt.Errorf("claim %s: %w", id, ErrNotFound)
		}
		return err
	})
}
