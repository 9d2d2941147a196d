package pg

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

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
		for i := range changed {
			if err := s.saveSession(ctx, tx, &changed[i], rigs, true); err != nil {
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
	rows, err := tx.Query(ctx, `SELECT id FROM session WHERE outfit_id = $1 AND angler_id = $2 AND day BETWEEN $3 AND $4`, s.outfit, mark.Angler, mark.From, mark.To)
	if err != nil {
		return m, nil, nil, err
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[journal.ID])
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
