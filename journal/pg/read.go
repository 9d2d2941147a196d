package pg

import (
	"context"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// readSessions returns whole sessions, by day and id; nil ids means all.
func (s *Store) readSessions(ctx context.Context, tx pgx.Tx, ids []journal.ID) ([]journal.Session, error) {
	rows, err := tx.Query(ctx, `SELECT id, angler_id, guide_id, water_id, beat_id, day, started_at, ended_at, time_zone, water_temp_c, flow_m3s, stage_m, depth_m,
			velocity_ms, storm, clarity, wind, light, from_gauge, notes, logged_at, version
		FROM session WHERE outfit_id = $1 AND ($2::uuid[] IS NULL OR id = ANY($2)) ORDER BY day, id`, s.outfit, ids)
	if err != nil {
		return nil, err
	}
	sessions, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (se journal.Session, err error) {
		err = row.Scan(&se.ID, &se.AnglerID, &se.GuideID, &se.WaterID, &se.BeatID, &se.Day, &se.Start, &se.End, &se.TimeZone, &se.WaterTempC, &se.FlowM3S,
			&se.StageM, &se.DepthM, &se.VelocityMS, &se.Storm, &se.Clarity, &se.Wind, &se.Light, &se.FromGauge, &se.Notes, &se.LoggedAt, &se.Version)
		if len(se.FromGauge) == 0 {
			se.FromGauge = nil
		}
		se.Normalize()
		return se, err
	})
	if err != nil {
		return nil, err
	}
	stints, err := s.readStints(ctx, tx, ids)
	for i := range sessions {
		sessions[i].Stints = stints[sessions[i].ID]
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
	rows, err := tx.Query(ctx, `SELECT session_id, id, rig_id, seconds, recorded, casts, stroke, notes FROM stint
		WHERE outfit_id = $1 AND ($2::uuid[] IS NULL OR session_id = ANY($2)) ORDER BY session_id, ordinal`, s.outfit, sessions)
	if err != nil {
		return nil, err
	}
	stints := map[journal.ID][]journal.Stint{}
	var session journal.ID
	var st journal.Stint
	var seconds *int
	var recorded int16
	_, err = pgx.ForEachRow(rows, []any{&session, &st.ID, &st.RigID, &seconds, &recorded, &st.Casts, &st.Stroke, &st.Notes}, func() error {
		st.Minutes, st.Recorded = journal.MinutesOf(seconds), journal.Recorded(recorded)
		st.Positions, st.Events = positions[st.ID], events[st.ID]
		stints[session] = append(stints[session], st)
		return nil
	})
	return stints, err
}

func (s *Store) readPositions(ctx context.Context, tx pgx.Tx, sessions []journal.ID) (map[journal.ID][]journal.StintPosition, error) {
	// By way of the stints, which are found by session: positions are found by stint only.
	rows, err := tx.Query(ctx, `SELECT p.stint_id, p.position, p.tag_start_mm, p.tag_end_mm, p.fly
		FROM stint_position p JOIN stint st ON st.outfit_id = p.outfit_id AND st.id = p.stint_id
		WHERE p.outfit_id = $1 AND ($2::uuid[] IS NULL OR st.session_id = ANY($2)) AND (p.tag_start_mm IS NOT NULL OR p.tag_end_mm IS NOT NULL OR p.fly <> '')
		ORDER BY p.stint_id, p.position`, s.outfit, sessions)
	if err != nil {
		return nil, err
	}
	positions := map[journal.ID][]journal.StintPosition{}
	var stint journal.ID
	var p journal.StintPosition
	_, err = pgx.ForEachRow(rows, []any{&stint, &p.Position, &p.TagStartMM, &p.TagEndMM, &p.Fly}, func() error {
		positions[stint] = append(positions[stint], p)
		return nil
	})
	return positions, err
}

// eventColumns are read by collectEvents.
const eventColumns = `e.stint_id, e.position, e.kind, e.count, e.minute, coalesce(e.hooking, ''), coalesce(e.ending, ''), coalesce(e.break_place, ''),
			coalesce(e.species, ''), e.fish_length_mm, coalesce(e.tangle_kind, ''), e.minutes_lost, e.turns, e.cut_mm, coalesce(e.note, '')`

func (s *Store) readEvents(ctx context.Context, tx pgx.Tx, sessions []journal.ID) (map[journal.ID][]journal.Event, error) {
	rows, err := tx.Query(ctx, `SELECT `+eventColumns+`
		FROM event e JOIN stint st ON st.outfit_id = e.outfit_id AND st.id = e.stint_id
		WHERE e.outfit_id = $1 AND ($2::uuid[] IS NULL OR st.session_id = ANY($2)) ORDER BY e.stint_id, e.ordinal`, s.outfit, sessions)
	if err != nil {
		return nil, err
	}
	return collectEvents(rows)
}

// collectEvents gathers events by stint.
func collectEvents(rows pgx.Rows) (map[journal.ID][]journal.Event, error) {
	events := map[journal.ID][]journal.Event{}
	var stint journal.ID
	var e journal.Event
	_, err := pgx.ForEachRow(rows, append([]any{&stint}, eventTargets(&e)...), func() error {
		events[stint] = append(events[stint], e)
		return nil
	})
	return events, err
}

func eventTargets(e *journal.Event) []any {
	return []any{&e.Position, &e.Kind, &e.Count, &e.Minute, &e.Hooking, &e.Ending, &e.BreakPlace, &e.Species, &e.FishLengthMM, &e.TangleKind, &e.MinutesLost, &e.Turns, &e.CutMM, &e.Note}
}
