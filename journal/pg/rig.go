package pg

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// Rigs lists every rig with its use, the last fished first.
func (s *Store) Rigs(ctx context.Context) ([]journal.RigUse, error) {
	return view(ctx, s, "list the rigs", func(tx pgx.Tx) (list []journal.RigUse, err error) {
		var u journal.RigUse
		err = rigTable.each(ctx, tx, []any{&u.Stints, &u.Minutes, &u.LastDay}, func(r journal.Rig) {
			u.Rig = r
			list = append(list, u)
		}, `SELECT coalesce(u.stints, 0), coalesce(u.seconds, 0) / 60.0::float8, u.last, `+rigTable.list("r")+`
			FROM rig r LEFT JOIN (
				SELECT st.rig_id, count(*) AS stints, sum(st.seconds) AS seconds, max(se.day) AS last
				FROM stint st JOIN session se ON se.outfit_id = st.outfit_id AND se.id = st.session_id
				WHERE st.outfit_id = $1 GROUP BY st.rig_id) u ON u.rig_id = r.id
			WHERE r.outfit_id = $1 ORDER BY u.last DESC NULLS LAST, lower(r.name), r.revision DESC`, s.outfit)
		if err != nil {
			return nil, err
		}
		return list, s.hangFlies(ctx, tx, nil, len(list), func(i int) *journal.Rig { return &list[i].Rig })
	})
}

// RigsToLog lists every rig, the last fished first as far as the latest sessions
// tell, which is what a person chooses from. Rigs says more and reads every stint.
func (s *Store) RigsToLog(ctx context.Context) ([]journal.Rig, error) {
	const latest = 400 // sessions
	return view(ctx, s, "list the rigs", func(tx pgx.Tx) (list []journal.Rig, err error) {
		err = rigTable.each(ctx, tx, nil, func(r journal.Rig) { list = append(list, r) }, `SELECT `+rigTable.list("r")+` FROM rig r LEFT JOIN (
				SELECT st.rig_id, max(se.day) AS last
				FROM (SELECT id, day FROM session WHERE outfit_id = $1 ORDER BY day DESC, id LIMIT $2) se
				JOIN stint st ON st.outfit_id = $1 AND st.session_id = se.id GROUP BY st.rig_id) u ON u.rig_id = r.id
			WHERE r.outfit_id = $1 ORDER BY u.last DESC NULLS LAST, lower(r.name), r.revision DESC`, s.outfit, latest)
		if err != nil {
			return nil, err
		}
		return list, s.hangFlies(ctx, tx, nil, len(list), func(i int) *journal.Rig { return &list[i] })
	})
}

// RigByID returns one rig, or ErrNotFound.
func (s *Store) RigByID(ctx context.Context, id journal.ID) (journal.Rig, error) {
	return view(ctx, s, "read the rigs", func(tx pgx.Tx) (journal.Rig, error) { return s.readRig(ctx, tx, id) })
}

func (s *Store) readRig(ctx context.Context, tx pgx.Tx, id journal.ID) (journal.Rig, error) {
	rigs, err := s.readRigs(ctx, tx, []journal.ID{id})
	rig, held := rigs[id]
	if err == nil && !held {
		err = fmt.Errorf("rig %s: %w", id, journal.ErrNotFound)
	}
	return rig, err
}

// readRigs returns those rigs that exist; nil ids means all.
func (s *Store) readRigs(ctx context.Context, tx pgx.Tx, ids []journal.ID) (map[journal.ID]journal.Rig, error) {
	list, err := rigTable.of(ctx, tx, s.outfit, "($2::uuid[] IS NULL OR id = ANY($2))", ids)
	if err != nil {
		return nil, err
	}
	err = s.hangFlies(ctx, tx, ids, len(list), func(i int) *journal.Rig { return &list[i] })
	rigs := make(map[journal.ID]journal.Rig, len(list))
	for _, rig := range list {
		rigs[rig.ID] = rig
	}
	return rigs, err
}

// hangFlies completes n rigs by their positions; nil ids are those of all.
func (s *Store) hangFlies(ctx context.Context, tx pgx.Tx, ids []journal.ID, n int, at func(int) *journal.Rig) error {
	flies := map[journal.ID][]journal.RigPosition{}
	var id journal.ID
	err := rigPositionTable.each(ctx, tx, []any{&id}, func(p journal.RigPosition) { flies[id] = append(flies[id], p) },
		`SELECT p.rig_id, `+rigPositionTable.list("p")+` FROM rig_position p WHERE p.outfit_id = $1 AND ($2::uuid[] IS NULL OR p.rig_id = ANY($2)) ORDER BY p.rig_id, p.position`, s.outfit, ids)
	for i := range n {
		rig := at(i)
		rig.CreatedAt, rig.Positions = rig.CreatedAt.UTC(), flies[rig.ID]
	}
	return err
}

// SaveRig stores a rig and returns it as stored. A rig without an id is new and
// needs a name of its own. One in the journal must carry the version that was
// edited, and it is a Conflict when the journal holds another. One that has been
// fished never changes: what was edited becomes the next revision of its name,
// under a new id.
func (s *Store) SaveRig(ctx context.Context, rig journal.Rig) (journal.Rig, error) {
	rig.Normalize()
	if err := rig.Validate(); err != nil {
		return journal.Rig{}, err
	}
	err := s.write(ctx, "save the rig "+rig.Name, func(tx pgx.Tx) error {
		if err := s.nameKnots(ctx, tx, &rig); err != nil {
			return err
		}
		known, err := s.readRigs(ctx, tx, []journal.ID{rig.ID})
		if err != nil {
			return err
		}
		old, held := known[rig.ID]
		switch {
		case !held && rig.Version > 0 && !rig.ID.IsZero():
			return &journal.Conflict{What: "rig", Seen: rig.Version}
		case !held:
			if rig.ID.IsZero() {
				rig.Revision, rig.Version = 1, 1
			}
			rig.Revision = max(1, rig.Revision)
			return s.insertRig(ctx, tx, &rig)
		case rig.SameAs(old):
			rig = old
			return errUnchanged // sent twice
		case rig.Version != old.Version:
			return &journal.Conflict{What: "rig", Seen: rig.Version, Held: old.Version, Stored: old}
		}
		return s.reviseRig(ctx, tx, old, &rig)
	})
	return rig, err
}

// reviseRig replaces a rig that nobody has fished, and adds a revision otherwise.
func (s *Store) reviseRig(ctx context.Context, tx pgx.Tx, old journal.Rig, rig *journal.Rig) error {
	var fished bool
	if err := tx.QueryRow(ctx, `SELECT EXISTS (SELECT FROM stint WHERE outfit_id = $1 AND rig_id = $2)`, s.outfit, old.ID).Scan(&fished); err != nil {
		return err
	}
	if rig.Version++; fished {
		rig.ID, rig.CreatedAt, rig.Version = journal.ID{}, time.Time{}, 1
	} else if _, err := tx.Exec(ctx, `DELETE FROM rig WHERE outfit_id = $1 AND id = $2`, s.outfit, old.ID); err != nil {
		return err
	}
	rig.Revision = old.Revision
	if fished || !strings.EqualFold(rig.Name, old.Name) {
		err := tx.QueryRow(ctx, `SELECT coalesce(max(revision), 0) + 1 FROM rig WHERE outfit_id = $1 AND lower(name) = lower($2)`, s.outfit, rig.Name).Scan(&rig.Revision)
		if err != nil {
			return err
		}
		if rig.Revision > 1 && !strings.EqualFold(rig.Name, old.Name) {
			return &journal.Invalid{Problems: []string{constraintMessage("rig_revision_once")}}
		}
	}
	return s.insertRig(ctx, tx, rig)
}

func (s *Store) insertRig(ctx context.Context, tx pgx.Tx, rig *journal.Rig) error {
	if rig.ID.IsZero() {
		rig.ID = journal.NewID()
	}
	if rig.CreatedAt.IsZero() {
		rig.CreatedAt = time.Now().UTC().Truncate(time.Microsecond)
	}
	rig.Version = max(1, rig.Version)
	batch := &pgx.Batch{}
	batch.Queue(rigTable.insert(), rigTable.row(rig, s.outfit)...)
	for i := range rig.Positions {
		batch.Queue(rigPositionTable.insert(), rigPositionTable.row(&rig.Positions[i], s.outfit, rig.ID)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// DeleteRig removes a rig that has never been fished, if it is still the version
// that was seen; 0 is any.
func (s *Store) DeleteRig(ctx context.Context, id journal.ID, seen int) error {
	return s.write(ctx, "delete the rig", func(tx pgx.Tx) error {
		rig, err := s.readRig(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := journal.Stale("rig", seen, rig.Version, false, rig); err != nil {
			return err
		}
		return s.takeAway(ctx, tx, "rig", id, rig.Title())
	})
}

// LatestRig returns the last revision of a name, without regard to case, or the rig that had the name before, or ErrNotFound.
func (s *Store) LatestRig(ctx context.Context, name string) (journal.Rig, error) {
	var id journal.ID
	err := s.once().QueryRow(ctx, `SELECT id FROM rig WHERE outfit_id = $1 AND (lower(name) = lower($2) OR id = (SELECT alias_of('rig', $2, NULL))) ORDER BY lower(name) = lower($2) DESC, revision DESC LIMIT 1`,
		s.outfit, strings.TrimSpace(name)).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return journal.Rig{}, fmt.Errorf("rig %q: %w", name, journal.ErrNotFound)
	}
	if err != nil {
		return journal.Rig{}, explain("find the rig "+name, err)
	}
	return s.RigByID(ctx, id)
}
