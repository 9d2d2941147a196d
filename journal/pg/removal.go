package pg

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// RemoveMember ends that a person belongs to the outfit, and says what becomes of the sessions of the angler that they
// are. Of who belongs to no outfit any more, nothing is kept to sign in with; their devices are told why. An outfit
// keeps an owner.
func (s *Store) RemoveMember(ctx context.Context, person journal.ID, how journal.Removal) error {
	if err := how.Validate(); err != nil {
		return err
	}
	return s.write(ctx, "remove the member", func(tx pgx.Tx) error {
		m, err := s.member(ctx, tx, person)
		if err != nil {
			return err
		}
		if err := s.keepAnOwner(ctx, tx, m); err != nil {
			return err
		}
		if err := s.endInvitations(ctx, tx, &person, m.Angler); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `DELETE FROM member WHERE outfit_id = $1 AND person_id = $2`, s.outfit, person); err != nil {
			return err
		}
		if how != journal.RemoveKeep {
			if err := s.forget(ctx, tx, m); err != nil {
				return err
			}
		}
		if how == journal.RemoveDelete && m.Angler != nil {
			if err := s.takeOutAll(ctx, tx, *m.Angler); err != nil {
				return err
			}
		}
		return s.atDoor(ctx, tx, func() error {
			for _, sql := range []string{
				`INSERT INTO withdrawn_device SELECT secret_hash, expires_at FROM device d WHERE person_id = $1 AND NOT EXISTS (SELECT FROM member WHERE person_id = d.person_id)`,
				`DELETE FROM person p WHERE id = $1 AND NOT EXISTS (SELECT FROM member WHERE person_id = p.id)`,
			} {
				if _, err := tx.Exec(ctx, sql, person); err != nil {
					return err
				}
			}
			_, err := tx.Exec(ctx, `DELETE FROM withdrawn_device WHERE expires_at <= now()`)
			return err
		})
	})
}

// forget takes a member's name from the journal, but for what people wrote in words of their own.
func (s *Store) forget(ctx context.Context, tx pgx.Tx, m journal.Member) error {
	if _, err := tx.Exec(ctx, `DELETE FROM share WHERE outfit_id = $1 AND (angler_id = $2 OR created_by = $3)`, s.outfit, m.Angler, m.Name); err != nil || m.Angler == nil {
		return err
	}
	for _, sql := range []string{
		`DELETE FROM step WHERE outfit_id = $1 AND (about IN (SELECT $2 UNION ALL SELECT was FROM alias WHERE outfit_id = $1 AND of = $2)
			OR content -> 'gone' @> jsonb_build_array(jsonb_build_object('row', jsonb_build_object('id', $2::uuid))))`,
		`DELETE FROM alias WHERE outfit_id = $1 AND of = $2`,
	} { // which tell former names
		if _, err := tx.Exec(ctx, sql, s.outfit, *m.Angler); err != nil {
			return err
		}
	}
	former := fmt.Sprintf("Former %s ", m.Role)
	_, err := tx.Exec(ctx, `UPDATE angler SET active = false, name = $3 || (SELECT coalesce(max(substring(name FROM '^' || $3 || '(\d{1,6})$')::integer), 0) + 1 FROM angler WHERE outfit_id = $1)
		WHERE outfit_id = $1 AND id = $2`, s.outfit, *m.Angler, former)
	return err
}

// takeOutAll moves an angler's sessions to the deleted, and drops the trials that the angler planned.
func (s *Store) takeOutAll(ctx context.Context, tx pgx.Tx, angler journal.ID) error {
	ids, err := listOf(ctx, tx, pgx.RowTo[journal.ID], `SELECT id FROM session WHERE outfit_id = $1 AND angler_id = $2`, s.outfit, angler)
	if err != nil {
		return err
	}
	if len(ids) > 0 {
		sessions, err := s.readSessions(ctx, tx, ids)
		if err != nil {
			return err
		}
		batch := &pgx.Batch{}
		for _, session := range sessions {
			s.takeOut(batch, session)
		}
		if err := tx.SendBatch(ctx, batch).Close(); err != nil {
			return err
		}
	}
	if _, err := tx.Exec(ctx, `DELETE FROM trial WHERE outfit_id = $1 AND of_angler = $2`, s.outfit, angler); err != nil {
		return err
	}
	return s.purge(ctx, tx)
}

// clear drops rigs, beats and waters of clients who have left with all their sessions, unless something uses them,
// be it a session that can still be brought back.
func (s *Store) clear(ctx context.Context, tx pgx.Tx) error {
	left := func(table, used string) string {
		return `DELETE FROM ` + table + ` x WHERE outfit_id = $1 AND of_angler IS NOT NULL AND NOT EXISTS (SELECT FROM member WHERE outfit_id = $1 AND angler_id = x.of_angler)
			AND NOT EXISTS (SELECT FROM session WHERE outfit_id = $1 AND angler_id = x.of_angler) AND NOT EXISTS (` + used + `)`
	}
	batch := &pgx.Batch{}
	batch.Queue(left("rig", `SELECT FROM stint WHERE outfit_id = $1 AND rig_id = x.id
		UNION ALL SELECT FROM trial WHERE outfit_id = $1 AND x.id IN (a_rig_id, b_rig_id)
		UNION ALL SELECT FROM deleted_session d WHERE outfit_id = $1 AND d.content @> jsonb_build_object('stints', jsonb_build_array(jsonb_build_object('rig_id', x.id)))`), s.outfit)
	batch.Queue(left("beat", `SELECT FROM session WHERE outfit_id = $1 AND beat_id = x.id
		UNION ALL SELECT FROM deleted_session d WHERE outfit_id = $1 AND d.content ->> 'beat_id' = x.id::text`), s.outfit)
	batch.Queue(left("water", `SELECT FROM session WHERE outfit_id = $1 AND water_id = x.id
		UNION ALL SELECT FROM beat WHERE outfit_id = $1 AND water_id = x.id
		UNION ALL SELECT FROM deleted_session d WHERE outfit_id = $1 AND d.content ->> 'water_id' = x.id::text`), s.outfit)
	return tx.SendBatch(ctx, batch).Close()
}
