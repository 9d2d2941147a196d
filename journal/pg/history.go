package pg

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// note writes down who did what to a session, which nobody may change any more.
func (s *Store) note(batch *pgx.Batch, what journal.Deed, session journal.Session, fields []string) {
	batch.Queue(`INSERT INTO session_change (outfit_id, session_id, version, angler_id, role, person_id, what, fields)
		VALUES ($1, $2, $3, $4, $5, $6, $7, coalesce($8::text[], '{}'))`, s.outfit, session.ID, session.Version, session.AnglerID, s.who.Role, s.who.Person, what, fields)
}

// noteAll is note for several sessions.
func (s *Store) noteAll(ctx context.Context, tx pgx.Tx, what journal.Deed, sessions []journal.Session, fields []string) error {
	ids, versions, anglers := make([]journal.ID, len(sessions)), make([]int, len(sessions)), make([]journal.ID, len(sessions))
	for i, session := range sessions {
		ids[i], versions[i], anglers[i] = session.ID, session.Version, session.AnglerID
	}
	_, err := tx.Exec(ctx, `INSERT INTO session_change (outfit_id, session_id, version, angler_id, role, person_id, what, fields)
		SELECT $1, id, version, angler, $5, $6, $7, coalesce($8::text[], '{}') FROM unnest($2::uuid[], $3::integer[], $4::uuid[]) AS written (id, version, angler)`,
		s.outfit, ids, versions, anglers, s.who.Role, s.who.Person, what, fields)
	return err
}

// noteImported is note for all sessions that the transaction has copied in.
func (s *Store) noteImported(ctx context.Context, tx pgx.Tx) error {
	_, err := tx.Exec(ctx, `INSERT INTO session_change (outfit_id, session_id, version, angler_id, role, person_id, what)
		SELECT outfit_id, id, version, angler_id, $2, $3, $4 FROM session WHERE outfit_id = $1 AND changed = revision_under_way()`, s.outfit, s.who.Role, s.who.Person, journal.DeedImported)
	return err
}

// SessionHistory lists what was done to a session, deleted or not, the latest first. Clients learn no name but their own.
// What was done before the journal kept account is not there.
func (s *Store) SessionHistory(ctx context.Context, id journal.ID) ([]journal.Change, error) {
	const own = `SELECT c.at, c.what, c.version, c.role, c.person_id, %s, c.fields FROM session_change c %s
		WHERE c.outfit_id = $1 AND c.session_id = $2 AND (EXISTS (SELECT FROM session WHERE outfit_id = $1 AND id = $2)
			OR EXISTS (SELECT FROM deleted_session WHERE outfit_id = $1 AND session_id = $2 AND ` + kept + `)) ORDER BY c.at DESC`
	sql := fmt.Sprintf(own, "coalesce(m.name, '')", "LEFT JOIN member m ON m.outfit_id = c.outfit_id AND m.person_id = c.person_id")
	if s.who.IsClient() {
		sql = fmt.Sprintf(own, "''", "")
	}
	list, err := listOf(ctx, s.once(), pgx.RowToStructByPos[journal.Change], sql, s.outfit, id)
	for i := range list {
		if me := s.who.Person; s.who.IsClient() && me != nil && list[i].Person != nil && *list[i].Person == *me {
			list[i].Name = s.who.Name
		} else if s.who.IsClient() {
			list[i].Person = nil
		}
	}
	return list, explain("read the session's history", err)
}

// Placed is when and where a session was, and who fished.
type Placed struct {
	ID, Angler, Water journal.ID
	Day               journal.Date
	Written           int64 // the revision of the journal with which it came to be as it is: of one import the same
	Merged            bool  // that was as something it names was merged
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
	list, err := listOf(ctx, s.once(), pgx.RowToStructByPos[Placed], `SELECT id, angler_id, water_id, day, changed,
			coalesce((SELECT what FROM session_change c WHERE c.outfit_id = session.outfit_id AND c.session_id = session.id ORDER BY at DESC LIMIT 1) = 'merged', false)
		FROM session WHERE outfit_id = $1 AND `+which+` ORDER BY day, started_at, id`, s.outfit, arg)
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
