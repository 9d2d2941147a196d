package pg

import (
	"context"
	"errors"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// ShareSeason shares an angler's season for some days, and returns the secret of its link. Nobody learns it later: the
// journal keeps its hash.
func (s *Store) ShareSeason(ctx context.Context, share journal.Share, days int) (secret string, expires time.Time, err error) {
	if !slices.Contains(journal.ShareDays(), days) {
		return "", expires, journal.Invalidf("a season is shared for 7, 30 or 90 days; choose one of these")
	}
	secret = journal.NewSecret()
	err = s.write(ctx, "share a season", func(tx pgx.Tx) error {
		return tx.QueryRow(ctx, `INSERT INTO share (outfit_id, id, secret_hash, angler_id, season, created_by, expires_at)
			SELECT outfit_id, $2, $3, id, $5, $6, now() + make_interval(days => $7) FROM angler WHERE outfit_id = $1 AND id = $4 RETURNING expires_at`,
			s.outfit, journal.NewID(), journal.HashSecret(secret), share.Angler, share.Season, s.who.Name, days).Scan(&expires)
	})
	return secret, expires, err
}

// Shares lists the seasons that are shared now, the last shared first.
func (s *Store) Shares(ctx context.Context) ([]journal.Share, error) {
	list, err := listOf(ctx, s.once(), rowToShare, shareColumns+` WHERE outfit_id = $1 AND expires_at > now() ORDER BY created_at DESC`, s.outfit)
	return list, explain("list the shared seasons", err)
}

// WithdrawShare ends the sharing of a season: its link shows nothing from then on.
func (s *Store) WithdrawShare(ctx context.Context, id journal.ID) error {
	return s.write(ctx, "withdraw a shared season", func(tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, `DELETE FROM share WHERE outfit_id = $1 AND id = $2`, s.outfit, id)
		if err == nil && tag.RowsAffected() == 0 {
			return pgx.ErrNoRows
		}
		return err
	})
}

// SharedSeason finds, of whatever outfit, the season that a link shows; ErrNotFound where it shows none any more.
func (s *Store) SharedSeason(ctx context.Context, secret string) (journal.Share, error) {
	list, err := listOf(ctx, once{s.pool, room{role: atDoor}}, rowToShare, shareColumns+` WHERE secret_hash = $1 AND expires_at > now() AND angler_id IS NOT NULL`, journal.HashSecret(secret))
	if err == nil && len(list) == 0 {
		err = pgx.ErrNoRows
	}
	if err != nil {
		return journal.Share{}, explain("find a shared season", err)
	}
	return list[0], nil
}

const shareColumns = `SELECT id, outfit_id, angler_id, season, created_by, created_at, expires_at FROM share`

func rowToShare(row pgx.CollectableRow) (share journal.Share, err error) {
	err = row.Scan(&share.ID, &share.Outfit, &share.Angler, &share.Season, &share.CreatedBy, &share.CreatedAt, &share.ExpiresAt)
	return share, err
}

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
