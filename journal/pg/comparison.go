package pg

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// Comparison is the outfit's latest, without its basis; the zero one where there is none yet.
func (s *Store) Comparison(ctx context.Context) (c journal.Comparison, err error) {
	err = s.once().QueryRow(ctx, `SELECT week, content FROM comparison WHERE outfit_id = $1 ORDER BY week DESC LIMIT 1`, s.outfit).Scan(&c.Week, &c.Shown)
	if errors.Is(err, pgx.ErrNoRows) {
		err = nil
	}
	return c, explain("read the comparison", err)
}

// Comparisons are all that were made of the outfit, with their bases, the latest first. They are not for clients.
func (s *Store) Comparisons(ctx context.Context) ([]journal.Comparison, error) {
	list, err := listOf(ctx, s.once(), func(row pgx.CollectableRow) (c journal.Comparison, err error) {
		return c, row.Scan(&c.Week, &c.Shown, &c.Basis)
	}, `SELECT week, content, basis FROM comparison WHERE outfit_id = $1 ORDER BY week DESC`, s.outfit)
	return list, explain("read the comparisons", err)
}

// KeepComparison keeps the comparison of a week, which is not made twice: of two only the first is kept. It is no
// change of the journal.
func (s *Store) KeepComparison(ctx context.Context, c journal.Comparison) error {
	return explain("keep the comparison", s.in.begin(ctx, s.pool, toWrite, func(tx pgx.Tx) error {
		_, err := tx.Exec(ctx, `INSERT INTO comparison (outfit_id, week, content, basis) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING`, s.outfit, c.Week, c.Shown, c.Basis)
		return err
	}))
}
