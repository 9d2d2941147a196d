package pg

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// LastTags returns the last known length of each tag of a rig, from its last
// stint. A tag of which that stint does not tell is left out.
func (s *Store) LastTags(ctx context.Context, rig journal.Rig) ([]journal.LastTag, error) {
	var list []journal.LastTag
	err := s.read(ctx, "read the last tag lengths", func(tx pgx.Tx) error {
		list = nil
		var session, stint journal.ID
		var day journal.Date
		err := tx.QueryRow(ctx, `SELECT se.id, st.id, se.day FROM stint st JOIN session se ON se.outfit_id = st.outfit_id AND se.id = st.session_id
			WHERE st.outfit_id = $1 AND st.rig_id = $2 ORDER BY se.day DESC, se.started_at DESC NULLS LAST, se.id DESC, st.ordinal DESC LIMIT 1`, s.outfit, rig.ID).Scan(&session, &stint, &day)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		stints, err := s.readStints(ctx, tx, []journal.ID{session})
		if err != nil {
			return err
		}
		for _, st := range stints[session] {
			if st.ID == stint {
				list = journal.LastTags(rig, st, day)
			}
		}
		return nil
	})
	return list, err
}

// TagCuts lists what fly changes took off tags, in mm, and how often, ascending.
// Changes that cost no tag are left out.
func (s *Store) TagCuts(ctx context.Context) ([]journal.Written, error) {
	rows, err := s.pool.Query(ctx, `SELECT cut_mm, sum(count)::bigint FROM event WHERE outfit_id = $1 AND kind = 'fly change' AND cut_mm > 0 GROUP BY cut_mm ORDER BY cut_mm`, s.outfit)
	if err != nil {
		return nil, explain("list the cuts", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[journal.Written])
	return list, explain("list the cuts", err)
}
