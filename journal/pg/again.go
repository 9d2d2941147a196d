package pg

import (
	"context"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// Placed is when and where a session was, and who fished.
type Placed struct {
	ID, Angler, Water journal.ID
	Day               journal.Date
	Written           int64 // the revision of the journal with which it came to be as it is: of one import the same
}

// SessionsOn lists the sessions of some days, by day, start and id.
func (s *Store) SessionsOn(ctx context.Context, days []journal.Date) ([]Placed, error) {
	if len(days) == 0 {
		return nil, nil
	}
	return s.placed(ctx, "day = ANY($2)", days)
}

// WrittenWith lists the sessions that came to be as they are together with some others, these too, by day, start and id.
func (s *Store) WrittenWith(ctx context.Context, ids []journal.ID) ([]Placed, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	return s.placed(ctx, "changed IN (SELECT changed FROM session WHERE outfit_id = $1 AND id = ANY($2))", ids)
}

func (s *Store) placed(ctx context.Context, which string, arg any) ([]Placed, error) {
	list, err := listOf(ctx, s.once(), pgx.RowToStructByPos[Placed], `SELECT id, angler_id, water_id, day, changed FROM session WHERE outfit_id = $1 AND `+which+` ORDER BY day, started_at, id`, s.outfit, arg)
	return list, explain("look for sessions", err)
}

// Untouched tells which of the sessions are in the journal as an import wrote them: nobody has changed them since. That something
// they name was merged is no change, nor that a later import was taken back.
func (s *Store) Untouched(ctx context.Context, ids []journal.ID) (map[journal.ID]bool, error) {
	as := map[journal.ID]bool{}
	if len(ids) == 0 {
		return as, nil
	}
	var id journal.ID
	err := each(ctx, s.once(), []any{&id}, func() { as[id] = true }, `WITH deed AS (SELECT session_id, max(version) FILTER (WHERE what = 'imported') AS imported,
			max(version) FILTER (WHERE what IN ('logged', 'changed')) AS written, max(version) FILTER (WHERE what = 'taken back') AS back
			FROM session_change WHERE outfit_id = $1 AND session_id = ANY($2) GROUP BY session_id)
		SELECT session_id FROM deed WHERE imported IS NOT NULL AND (written IS NULL OR written < imported AND coalesce(back < imported, true))`, s.outfit, ids)
	return as, explain("read what was done to the sessions", err)
}
