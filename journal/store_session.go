package journal

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
)

// UndoDays is how long a deleted session can be brought back.
const UndoDays = 30

// SaveSession stores a session with its stints, positions, events and counts in
// one transaction, and returns it as stored. Version 0 is a new session; storing
// the same one again changes nothing, and another one under its id is an
// ErrConflict. A version above 0 replaces that version, and is an ErrConflict
// when the journal holds a later one.
func (s *Store) SaveSession(ctx context.Context, session Session) (Session, error) {
	session.normalize()
	rigs, err := s.rigsByID(ctx, session.rigIDs())
	if err != nil {
		return Session{}, err
	}
	if err := session.Validate(rigs); err != nil {
		return Session{}, err
	}
	err = s.write(ctx, "save the session of "+session.Day.String(), func(tx pgx.Tx) error {
		if err := s.saveSession(ctx, tx, &session, rigs); err != nil {
			return err
		}
		_, err := s.matchTrials(ctx, tx) // what was fished in a trial may have come in
		return err
	})
	return session, err
}

func (s *Store) saveSession(ctx context.Context, tx pgx.Tx, session *Session, rigs map[ID]Rig) error {
	fingerprint, err := session.fingerprint()
	if err != nil {
		return err
	}
	// One that was sent again while the first send is still at work waits for it.
	if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock(hashtextextended($1::text, 0))`, session.ID.String()); err != nil {
		return err
	}
	var version int
	var kept int64
	var loggedAt time.Time
	var waiting bool
	err = tx.QueryRow(ctx, `SELECT coalesce(version, 0), coalesce(fingerprint, 0), coalesce(logged_at, now()), d.session_id IS NOT NULL
		FROM (SELECT $2::uuid AS id) i
		LEFT JOIN LATERAL (SELECT version, fingerprint, logged_at FROM session WHERE outfit_id = $1 AND id = i.id FOR UPDATE) s ON true
		LEFT JOIN deleted_session d ON d.outfit_id = $1 AND d.session_id = i.id`, s.outfit, session.ID).Scan(&version, &kept, &loggedAt, &waiting)
	switch {
	case err != nil:
		return err
	case waiting:
		return fmt.Errorf("%w: that session was deleted; restore it first", ErrConflict)
	case version > 0 && kept == fingerprint && session.Version <= version:
		session.Version, session.LoggedAt = version, loggedAt.UTC()
		return errUnchanged // sent twice
	case version != session.Version && version > 0:
		return fmt.Errorf("%w: the session was changed meanwhile (version %d, yours is %d); reload it and make the change again", ErrConflict, version, session.Version)
	case version == 0 && session.Version > 0:
		return fmt.Errorf("session %s: %w", session.ID, ErrNotFound)
	}
	if version > 0 {
		session.LoggedAt = loggedAt.UTC()
		if _, err := tx.Exec(ctx, `DELETE FROM session WHERE outfit_id = $1 AND id = $2`, s.outfit, session.ID); err != nil {
			return err
		}
	} else if session.LoggedAt.IsZero() {
		session.LoggedAt = time.Now().UTC().Truncate(time.Microsecond)
	}
	session.Version = version + 1
	return s.insertSession(ctx, tx, *session, rigs)
}

func (s *Store) insertSession(ctx context.Context, tx pgx.Tx, session Session, rigs map[ID]Rig) error {
	t := tables{outfit: s.outfit}
	if err := t.add(session, rigs); err != nil {
		return err
	}
	batch := &pgx.Batch{}
	t.queue(batch)
	return tx.SendBatch(ctx, batch).Close()
}

// SessionByID returns a session with its stints, or ErrNotFound.
func (s *Store) SessionByID(ctx context.Context, id ID) (Session, error) {
	var session Session
	err := s.read(ctx, "read the session", func(tx pgx.Tx) error {
		sessions, err := s.readSessions(ctx, tx, []ID{id})
		if err != nil {
			return err
		}
		if len(sessions) == 0 {
			return fmt.Errorf("session %s: %w", id, ErrNotFound)
		}
		session = sessions[0]
		return nil
	})
	return session, err
}

// DeleteSession takes a session out of the journal. RestoreSession brings it
// back for UndoDays.
func (s *Store) DeleteSession(ctx context.Context, id ID) error {
	return s.write(ctx, "delete the session", func(tx pgx.Tx) error {
		sessions, err := s.readSessions(ctx, tx, []ID{id})
		if err != nil {
			return err
		}
		if len(sessions) == 0 {
			return fmt.Errorf("session %s: %w", id, ErrNotFound)
		}
		content, err := json.Marshal(sessions[0])
		if err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `INSERT INTO deleted_session (outfit_id, session_id, day, deleted_at, content) VALUES ($1, $2, $3, now(), $4)`,
			s.outfit, id, sessions[0].Day, content); err != nil {
			return err
		}
		_, err = tx.Exec(ctx, `DELETE FROM session WHERE outfit_id = $1 AND id = $2`, s.outfit, id)
		return err
	})
}

// RestoreSession brings a deleted session back as it was.
func (s *Store) RestoreSession(ctx context.Context, id ID) error {
	return s.write(ctx, "restore the session", func(tx pgx.Tx) error {
		var content []byte
		err := tx.QueryRow(ctx, `DELETE FROM deleted_session WHERE outfit_id = $1 AND session_id = $2 RETURNING content`, s.outfit, id).Scan(&content)
		if errors.Is(err, pgx.ErrNoRows) {
			return fmt.Errorf("deleted session %s: %w", id, ErrNotFound)
		}
		if err != nil {
			return err
		}
		var session Session
		if err := json.Unmarshal(content, &session); err != nil {
			return fmt.Errorf("read the deleted session: %w", err)
		}
		rigs, err := s.readRigs(ctx, tx, session.rigIDs())
		if err != nil {
			return err
		}
		return s.insertSession(ctx, tx, session, rigs)
	})
}

// DeletedSession is a session that can still be brought back.
type DeletedSession struct {
	Session
	DeletedAt time.Time
}

// DeletedSessions lists what can still be brought back, the last deleted first.
// What was deleted more than UndoDays ago is dropped for good.
func (s *Store) DeletedSessions(ctx context.Context) ([]DeletedSession, error) {
	var list []DeletedSession
	err := s.write(ctx, "list the deleted sessions", func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `DELETE FROM deleted_session WHERE outfit_id = $1 AND deleted_at < now() - make_interval(days => $2)`, s.outfit, UndoDays); err != nil {
			return err
		}
		rows, err := tx.Query(ctx, `SELECT content, deleted_at FROM deleted_session WHERE outfit_id = $1 ORDER BY deleted_at DESC, session_id`, s.outfit)
		if err != nil {
			return err
		}
		var content []byte
		var at time.Time
		_, err = pgx.ForEachRow(rows, []any{&content, &at}, func() error {
			d := DeletedSession{DeletedAt: at.UTC()}
			if err := json.Unmarshal(content, &d.Session); err != nil {
				return fmt.Errorf("read a deleted session: %w", err)
			}
			list = append(list, d)
			return nil
		})
		return err
	})
	return list, err
}

// normalize puts a session into the form in which it is stored and compared.
func (s *Session) normalize() {
	s.LoggedAt = s.LoggedAt.UTC().Truncate(time.Microsecond)
	for _, t := range []**time.Time{&s.Start, &s.End} {
		if *t != nil {
			utc := (*t).UTC().Truncate(time.Microsecond)
			*t = &utc
		}
	}
	s.FromGauge = slices.Clone(s.FromGauge)
	slices.Sort(s.FromGauge)
	s.Stints = slices.Clone(s.Stints)
	for i := range s.Stints {
		st := &s.Stints[i]
		st.Minutes = minutesOf(st.seconds())
		st.Positions = slices.DeleteFunc(slices.Clone(st.Positions), func(p StintPosition) bool { return p == StintPosition{Position: p.Position} })
		slices.SortStableFunc(st.Positions, func(a, b StintPosition) int { return cmp.Compare(a.Position, b.Position) })
	}
}

// fingerprint hashes what the session says, when and how often it was stored aside.
func (s Session) fingerprint() (int64, error) {
	s.LoggedAt, s.Version = time.Time{}, 0
	b, err := json.Marshal(s)
	if err != nil {
		return 0, fmt.Errorf("fingerprint the session: %w", err)
	}
	sum := sha256.Sum256(b)
	return int64(binary.BigEndian.Uint64(sum[:8])), nil
}

func (s Session) rigIDs() []ID {
	ids := make([]ID, 0, len(s.Stints))
	for _, st := range s.Stints {
		ids = append(ids, st.RigID)
	}
	return ids
}
