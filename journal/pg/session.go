package pg

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// SaveSession is LogSession with a session whose people, water and rigs are in
// the journal, and of which nothing is doubted.
func (s *Store) SaveSession(ctx context.Context, session journal.Session) (journal.Session, error) {
	return s.LogSession(ctx, journal.Draft{Session: session, Confirmed: true})
}

// saveSession puts a valid session in the place of the version that its writer
// has seen, or next to the others.
func (s *Store) saveSession(ctx context.Context, tx pgx.Tx, session *journal.Session, rigs map[journal.ID]journal.Rig, confirmed bool) error {
	held, deleted, err := s.heldSession(ctx, tx, session.ID)
	switch {
	case err != nil:
		return err
	case held == nil && session.Version > 0:
		return fmt.Errorf("session %s: %w", session.ID, journal.ErrNotFound)
	case held == nil:
		held = &journal.Session{LoggedAt: session.LoggedAt}
	case deleted:
		return &journal.Conflict{What: "session", Seen: session.Version, Held: held.Version, Deleted: true, Stored: *held}
	case session.Version <= held.Version && session.SaysWhat(*held):
		session.Version, session.LoggedAt = held.Version, held.LoggedAt
		return errUnchanged // sent twice
	case session.Version != held.Version:
		return &journal.Conflict{What: "session", Seen: session.Version, Held: held.Version, Stored: *held}
	}
	if doubts := session.NewDoubts(*held, rigs); len(doubts) > 0 && !confirmed {
		return &journal.Doubtful{Doubts: doubts}
	}
	if held.Version > 0 {
		if _, err := tx.Exec(ctx, `DELETE FROM session WHERE outfit_id = $1 AND id = $2`, s.outfit, session.ID); err != nil {
			return err
		}
	}
	session.Version, session.LoggedAt = held.Version+1, held.LoggedAt
	if session.LoggedAt.IsZero() {
		session.LoggedAt = time.Now().UTC().Truncate(time.Microsecond)
	}
	return s.insertSession(ctx, tx, *session, rigs)
}

// kept are the deleted sessions that can still be brought back.
const kept = `deleted_at >= now() - make_interval(days => 30)`

// heldSession returns what the journal holds under an id, nil for nothing, and
// whether that was deleted.
func (s *Store) heldSession(ctx context.Context, tx pgx.Tx, id journal.ID) (held *journal.Session, deleted bool, err error) {
	var live bool
	var content []byte
	err = tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM session WHERE outfit_id = $1 AND id = $2),
		(SELECT content FROM deleted_session WHERE outfit_id = $1 AND session_id = $2 AND `+kept+`)`, s.outfit, id).Scan(&live, &content)
	switch {
	case err != nil:
		return nil, false, err
	case live:
		sessions, err := s.readSessions(ctx, tx, []journal.ID{id})
		if err != nil || len(sessions) == 0 {
			return nil, false, err
		}
		return &sessions[0], false, nil
	case content == nil:
		return nil, false, nil
	}
	held = &journal.Session{}
	if err := json.Unmarshal(content, held); err != nil {
		return nil, false, fmt.Errorf("read the deleted session: %w", err)
	}
	held.Normalize()
	return held, true, nil
}

// purge drops for good what was deleted too long ago to be brought back.
func (s *Store) purge(ctx context.Context, tx pgx.Tx) error {
	_, err := tx.Exec(ctx, `DELETE FROM deleted_session WHERE outfit_id = $1 AND NOT `+kept, s.outfit)
	return err
}

func (s *Store) insertSession(ctx context.Context, tx pgx.Tx, session journal.Session, rigs map[journal.ID]journal.Rig) error {
	t := tables{outfit: s.outfit}
	if err := t.add(session, rigs); err != nil {
		return err
	}
	batch := &pgx.Batch{}
	t.queue(batch)
	return tx.SendBatch(ctx, batch).Close()
}

// SessionByID returns a session with its stints, or ErrNotFound.
func (s *Store) SessionByID(ctx context.Context, id journal.ID) (journal.Session, error) {
	var session journal.Session
	err := s.read(ctx, "read the session", func(tx pgx.Tx) error {
		sessions, err := s.readSessions(ctx, tx, []journal.ID{id})
		if err != nil {
			return err
		}
		if len(sessions) == 0 {
			return fmt.Errorf("session %s: %w", id, journal.ErrNotFound)
		}
		session = sessions[0]
		return nil
	})
	return session, err
}

// DeleteSession takes a session out of the journal, if it is still the version
// that was seen; 0 is any. RestoreSession brings it back for UndoDays.
func (s *Store) DeleteSession(ctx context.Context, id journal.ID, seen int) error {
	return s.write(ctx, "delete the session", func(tx pgx.Tx) error {
		if err := s.purge(ctx, tx); err != nil {
			return err
		}
		held, deleted, err := s.heldSession(ctx, tx, id)
		switch {
		case err != nil:
			return err
		case held == nil:
			return fmt.Errorf("session %s: %w", id, journal.ErrNotFound)
		case deleted && (seen == 0 || seen == held.Version):
			return errUnchanged // sent twice
		}
		if err := journal.Stale("session", seen, held.Version, deleted, *held); err != nil {
			return err
		}
		content, err := json.Marshal(held)
		if err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `DELETE FROM session WHERE outfit_id = $1 AND id = $2`, s.outfit, id); err != nil {
			return err
		}
		_, err = tx.Exec(ctx, `INSERT INTO deleted_session (outfit_id, session_id, day, deleted_at, content) VALUES ($1, $2, $3, now(), $4)`,
			s.outfit, id, held.Day, content)
		return err
	})
}

// RestoreSession brings a deleted session back as it was, if it is still the
// version that was seen; 0 is any.
func (s *Store) RestoreSession(ctx context.Context, id journal.ID, seen int) error {
	return s.write(ctx, "restore the session", func(tx pgx.Tx) error {
		held, deleted, err := s.heldSession(ctx, tx, id)
		if err != nil {
			return err
		}
		if !deleted {
			return fmt.Errorf("deleted session %s: %w", id, journal.ErrNotFound)
		}
		if err := journal.Stale("session", seen, held.Version, deleted, *held); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `DELETE FROM deleted_session WHERE outfit_id = $1 AND session_id = $2`, s.outfit, id); err != nil {
			return err
		}
		rigs, err := s.readRigs(ctx, tx, held.RigIDs())
		if err != nil {
			return err
		}
		if err := s.insertSession(ctx, tx, *held, rigs); err != nil {
			return err
		}
		_, err = s.matchTrials(ctx, tx)
		return err
	})
}

// DeletedSessions lists what can still be brought back, the last deleted first.
// What was deleted more than UndoDays ago is gone for good.
func (s *Store) DeletedSessions(ctx context.Context) ([]journal.DeletedSession, error) {
	list, err := s.readDeleted(ctx, s.pool, "deleted_at DESC, session_id")
	return list, explain("list the deleted sessions", err)
}
