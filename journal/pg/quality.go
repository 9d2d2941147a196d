package pg

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// Quality reads what can be told of how well the journal is kept.
func (s *Store) Quality(ctx context.Context) (journal.Quality, error) {
	var q journal.Quality
	err := s.read(ctx, "look at how the journal is kept", func(tx pgx.Tx) error {
		q = journal.Quality{}
		err := tx.QueryRow(ctx, `SELECT (SELECT count(*) FROM session WHERE outfit_id = $1), (SELECT count(*) FROM stint WHERE outfit_id = $1)`, s.outfit).
			Scan(&q.Sessions, &q.Stints)
		if err != nil {
			return err
		}
		for _, read := range []func(context.Context, pgx.Tx, *journal.Quality) error{s.readWritten, s.readLogged, s.readUntimed, s.readUntagged, s.readOutings, s.readTooLong, s.readCounted} {
			if err := read(ctx, tx, &q); err != nil {
				return err
			}
		}
		return nil
	})
	return q, err
}

// readWritten counts lengths of tags and minutes by value. A length that was
// carried from stint to stint or from revision to revision was measured once.
func (s *Store) readWritten(ctx context.Context, tx pgx.Tx, q *journal.Quality) (err error) {
	q.TagLengths, err = listOf(ctx, tx, pgx.RowToStructByPos[journal.Written], `SELECT mm, count(*) FROM (
			SELECT DISTINCT lower(r.name), rp.position, rp.tag_length_mm AS mm
			FROM rig_position rp JOIN rig r ON r.outfit_id = rp.outfit_id AND r.id = rp.rig_id
			WHERE rp.outfit_id = $1 AND rp.tag_length_mm IS NOT NULL
			UNION ALL
			SELECT DISTINCT p.session_id::text, p.position, v.mm
			FROM stint_position p CROSS JOIN LATERAL (VALUES (p.tag_start_mm), (p.tag_end_mm)) v (mm)
			WHERE p.outfit_id = $1 AND v.mm IS NOT NULL
		) measured GROUP BY mm ORDER BY mm`, s.outfit)
	if err != nil {
		return err
	}
	q.Minutes, err = listOf(ctx, tx, pgx.RowToStructByPos[journal.Written], `SELECT seconds / 60.0::float8, count(*) FROM stint WHERE outfit_id = $1 AND seconds IS NOT NULL GROUP BY seconds ORDER BY seconds`, s.outfit)
	return err
}

// readLogged finds sessions logged long after, or before, their day, the latest
// first. Zones are left to Go, whose names the database need not know.
func (s *Store) readLogged(ctx context.Context, tx pgx.Tx, q *journal.Quality) error {
	var ref journal.SessionRef
	var at time.Time
	var zone string
	var together bool
	return each(ctx, tx, []any{&ref.ID, &ref.Day, &ref.Angler, &at, &zone, &together}, func() {
		q.AddLogged(ref, at, zone, together)
	}, fmt.Sprintf(`SELECT se.id, se.day, a.name, se.logged_at, se.time_zone, count(*) OVER (PARTITION BY se.logged_at) > 1
		FROM session se JOIN angler a ON a.outfit_id = se.outfit_id AND a.id = se.angler_id
		WHERE se.outfit_id = $1 AND (se.logged_at AT TIME ZONE 'UTC')::date - se.day NOT BETWEEN 0 AND %d
		ORDER BY se.day DESC, se.id`, journal.LateDays-1), s.outfit)
}

func (s *Store) readUntimed(ctx context.Context, tx pgx.Tx, q *journal.Quality) error {
	var ref journal.SessionRef
	var stints int
	return each(ctx, tx, []any{&ref.ID, &ref.Day, &ref.Angler, &stints}, func() {
		q.Untimed.Add(ref)
		q.UntimedStints += stints
	}, `SELECT se.id, se.day, a.name, count(*)
		FROM stint st JOIN session se ON se.outfit_id = st.outfit_id AND se.id = st.session_id
		JOIN angler a ON a.outfit_id = se.outfit_id AND a.id = se.angler_id
		WHERE st.outfit_id = $1 AND st.seconds IS NULL
		GROUP BY se.id, se.day, a.name ORDER BY se.day DESC, se.id`, s.outfit)
}

func (s *Store) readUntagged(ctx context.Context, tx pgx.Tx, q *journal.Quality) error {
	var rig journal.Rig
	var stints int
	return each(ctx, tx, []any{&rig.ID, &rig.Name, &rig.Revision, &stints}, func() {
		q.Untagged = append(q.Untagged, journal.UntaggedRig{ID: rig.ID, Title: rig.Title(), Stints: stints})
	}, `SELECT r.id, r.name, r.revision, count(DISTINCT p.stint_id)
		FROM rig_position rp JOIN rig r ON r.outfit_id = rp.outfit_id AND r.id = rp.rig_id
		LEFT JOIN stint_position p ON p.outfit_id = rp.outfit_id AND p.rig_id = rp.rig_id AND p.position = rp.position AND p.tag_start_mm IS NULL
		WHERE rp.outfit_id = $1 AND rp.hang = 'tag' AND rp.tag_length_mm IS NULL
		GROUP BY r.id, r.name, r.revision ORDER BY 4 DESC, r.name, r.revision`, s.outfit)
}

func (s *Store) readOutings(ctx context.Context, tx pgx.Tx, q *journal.Quality) (err error) {
	q.Outings, err = listOf(ctx, tx, pgx.RowToStructByPos[journal.Outing], `SELECT a.name, fished.hours, coalesce(bad.n, 0)::float8
		FROM (SELECT session_id, sum(seconds) / 3600.0::float8 AS hours FROM stint WHERE outfit_id = $1
			GROUP BY session_id HAVING count(seconds) = count(*) AND bool_and(`+keptSQL(journal.BadKinds...)+`)) fished
		JOIN session se ON se.outfit_id = $1 AND se.id = fished.session_id
		JOIN angler a ON a.outfit_id = $1 AND a.id = se.angler_id
		LEFT JOIN (SELECT st.session_id, sum(e.count) AS n FROM event e JOIN stint st ON st.outfit_id = e.outfit_id AND st.id = e.stint_id
			WHERE e.outfit_id = $1 AND (e.kind = 'tangle' OR e.hooking = 'foul' OR e.ending IN ('lost', 'broke off'))
			GROUP BY st.session_id) bad ON bad.session_id = se.id
		ORDER BY se.id`, s.outfit)
	return err
}

// CountedDays says day by day what each angler kept count of, and what came of it.
func (s *Store) CountedDays(ctx context.Context) ([]journal.CountedDay, error) {
	var q journal.Quality
	err := s.read(ctx, "look at what was counted", func(tx pgx.Tx) error { return s.readCounted(ctx, tx, &q) })
	return q.Days, err
}

// readCounted adds stints up by angler, by name, and day.
func (s *Store) readCounted(ctx context.Context, tx pgx.Tx, q *journal.Quality) error {
	var d journal.CountedDay
	sums := make([]string, len(d.Counts))
	into := []any{&d.Angler, &d.Day, &d.Recorded, &d.Stints, &d.Hours}
	for _, c := range journal.AllCounts() {
		sums[c] = "sum(st." + c.Column() + ")::float8"
		into = append(into, &d.Counts[c])
	}
	return each(ctx, tx, into, func() {
		q.Days = append(q.Days, d)
	}, `SELECT a.name, se.day, st.recorded::integer & 65535, count(*), coalesce(sum(st.seconds), 0) / 3600.0::float8, `+strings.Join(sums, ", ")+`
		FROM session se JOIN angler a ON a.outfit_id = se.outfit_id AND a.id = se.angler_id
		JOIN stint st ON st.outfit_id = se.outfit_id AND st.session_id = se.id
		WHERE se.outfit_id = $1
		GROUP BY a.name, se.day, st.recorded ORDER BY a.name, se.day, st.recorded`, s.outfit)
}

// keptSQL is the condition on a stint that count was kept of some kinds, as Recorded.Has has it.
func keptSQL(kinds ...journal.Kind) string {
	mask := journal.RecordedOf(kinds...) &^ journal.RecordedOf()
	return fmt.Sprintf("(recorded = 0 OR recorded & %d = %d)", mask, mask)
}

// readTooLong finds sessions whose stints last longer than themselves.
func (s *Store) readTooLong(ctx context.Context, tx pgx.Tx, q *journal.Quality) error {
	var ref journal.SessionRef
	var fished, lasted float64
	return each(ctx, tx, []any{&ref.ID, &ref.Day, &fished, &lasted}, func() {
		q.Impossible.Add(ref.ID, ref.Day, fmt.Sprintf("the stints add up to %.4g minutes, but the session lasted %.0f; correct the minutes or the times", fished, lasted))
	}, `SELECT se.id, se.day, sum(st.seconds) / 60.0::float8, extract(epoch FROM se.ended_at - se.started_at)::float8 / 60
		FROM session se JOIN stint st ON st.outfit_id = se.outfit_id AND st.session_id = se.id
		WHERE se.outfit_id = $1 AND se.ended_at IS NOT NULL
		GROUP BY se.id, se.day, se.started_at, se.ended_at
		HAVING sum(st.seconds) > extract(epoch FROM se.ended_at - se.started_at) + 1 ORDER BY se.day, se.id`, s.outfit)
}

// PreviewRecorded says what MarkRecorded would change, and changes nothing.
func (s *Store) PreviewRecorded(ctx context.Context, mark journal.RecordedMark) (journal.Marked, error) {
	var m journal.Marked
	if err := mark.Validate(); err != nil {
		return m, err
	}
	err := s.read(ctx, "look at what was recorded", func(tx pgx.Tx) (err error) {
		m, _, _, err = s.marked(ctx, tx, mark)
		return err
	})
	return m, err
}

// MarkRecorded says of the stints of an angler's days of what count was kept, all of them or none.
// Each session that changes becomes its next version, as after an edit.
func (s *Store) MarkRecorded(ctx context.Context, mark journal.RecordedMark) (journal.Marked, error) {
	var m journal.Marked
	if err := mark.Validate(); err != nil {
		return m, err
	}
	err := s.write(ctx, "mark what was recorded", func(tx pgx.Tx) error {
		var changed []journal.Session
		var rigs map[journal.ID]journal.Rig
		var err error
		if m, changed, rigs, err = s.marked(ctx, tx, mark); err != nil {
			return err
		}
		if len(changed) == 0 {
			return errUnchanged
		}
		step := &deed{told: fmt.Sprintf("Said of what count was kept in %d sessions", len(changed))}
		for i := range changed {
			if err := s.saveSession(ctx, tx, &changed[i], rigs, true, step); err != nil {
				return fmt.Errorf("session of %s: %w", changed[i].Day, err)
			}
		}
		_, err = s.matchTrials(ctx, tx)
		return err
	})
	return m, err
}

// marked reads the sessions that a mark is about, and returns those that change, changed, with
// the rigs they were fished with.
func (s *Store) marked(ctx context.Context, tx pgx.Tx, mark journal.RecordedMark) (m journal.Marked, changed []journal.Session, rigs map[journal.ID]journal.Rig, err error) {
	m.Noted = map[journal.Kind]int{}
	ids, err := listOf(ctx, tx, pgx.RowTo[journal.ID], `SELECT id FROM session WHERE outfit_id = $1 AND angler_id = $2 AND day BETWEEN $3 AND $4`, s.outfit, mark.Angler, mark.From, mark.To)
	if err != nil {
		return m, nil, nil, err
	}
	if len(ids) == 0 {
		return m, nil, nil, &journal.Invalid{Problems: []string{fmt.Sprintf("no session of that angler lies between %s and %s; look at the days again", mark.From, mark.To)}}
	}
	sessions, err := s.readSessions(ctx, tx, ids)
	if err != nil {
		return m, nil, nil, err
	}
	var used []journal.ID
	for _, session := range sessions {
		used = append(used, session.RigIDs()...)
	}
	if rigs, err = s.readRigs(ctx, tx, used); err != nil {
		return m, nil, nil, err
	}
	m.Sessions = len(sessions)
	for _, session := range sessions {
		some, err := m.Mark(mark, &session, rigs)
		if err != nil {
			return m, nil, nil, err
		}
		if some {
			changed = append(changed, session)
		}
	}
	return m, changed, rigs, nil
}
