package pg

import (
	"context"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// readSessions returns whole sessions, by day and id; nil ids means all.
func (s *Store) readSessions(ctx context.Context, tx pgx.Tx, ids []journal.ID) ([]journal.Session, error) {
	sessions, err := sessionTable.of(ctx, tx, s.outfit, "($2::uuid[] IS NULL OR id = ANY($2)) ORDER BY day, id", ids)
	if err != nil {
		return nil, err
	}
	stints, err := s.readStints(ctx, tx, ids)
	for i := range sessions {
		se := &sessions[i]
		if len(se.FromGauge) == 0 {
			se.FromGauge = nil
		}
		se.Normalize()
		se.Stints = stints[se.ID]
	}
	return sessions, err
}

// readStints returns the stints of each session in order, with positions and events.
func (s *Store) readStints(ctx context.Context, tx pgx.Tx, sessions []journal.ID) (map[journal.ID][]journal.Stint, error) {
	events, err := s.readEvents(ctx, tx, sessions)
	if err != nil {
		return nil, err
	}
	positions, err := s.readPositions(ctx, tx, sessions)
	if err != nil {
		return nil, err
	}
	stints := map[journal.ID][]journal.Stint{}
	var session journal.ID
	err = stintTable.each(ctx, tx, []any{&session}, func(st journal.Stint) {
		st.Positions, st.Events = positions[st.ID], events[st.ID]
		stints[session] = append(stints[session], st)
	}, `SELECT st.session_id, `+stintTable.list("st")+` FROM stint st
		WHERE st.outfit_id = $1 AND ($2::uuid[] IS NULL OR st.session_id = ANY($2)) ORDER BY st.session_id, st.ordinal`, s.outfit, sessions)
	return stints, err
}

func (s *Store) readPositions(ctx context.Context, tx pgx.Tx, sessions []journal.ID) (map[journal.ID][]journal.StintPosition, error) {
	// By way of the stints, which are found by session: positions are found by stint only.
	positions := map[journal.ID][]journal.StintPosition{}
	var stint journal.ID
	err := stintPositionTable.each(ctx, tx, []any{&stint}, func(p journal.StintPosition) { positions[stint] = append(positions[stint], p) },
		`SELECT p.stint_id, `+stintPositionTable.list("p")+` FROM stint_position p JOIN stint st ON st.outfit_id = p.outfit_id AND st.id = p.stint_id
		WHERE p.outfit_id = $1 AND ($2::uuid[] IS NULL OR st.session_id = ANY($2)) AND (p.tag_start_mm IS NOT NULL OR p.tag_end_mm IS NOT NULL OR p.fly <> '')
		ORDER BY p.stint_id, p.position`, s.outfit, sessions)
	return positions, err
}

func (s *Store) readEvents(ctx context.Context, tx pgx.Tx, sessions []journal.ID) (map[journal.ID][]journal.Event, error) {
	return collectEvents(ctx, tx, `FROM event e JOIN stint st ON st.outfit_id = e.outfit_id AND st.id = e.stint_id
		WHERE e.outfit_id = $1 AND ($2::uuid[] IS NULL OR st.session_id = ANY($2))`, s.outfit, sessions)
}

// collectEvents gathers events by stint, in order.
func collectEvents(ctx context.Context, tx pgx.Tx, from string, args ...any) (map[journal.ID][]journal.Event, error) {
	events := map[journal.ID][]journal.Event{}
	var stint journal.ID
	err := eventTable.each(ctx, tx, []any{&stint}, func(e journal.Event) { events[stint] = append(events[stint], e) },
		`SELECT e.stint_id, `+eventTable.list("e")+` `+from+` ORDER BY e.stint_id, e.ordinal`, args...)
	return events, err
}
