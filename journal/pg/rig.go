package pg

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

const rigColumns = `r.id, r.name, r.revision, r.method, r.rod_length_mm, r.leader_length_mm, r.sighter_length_mm, r.swivel, r.tippet_length_mm, r.notes, r.created_at, r.version`

// rowVersion is the last column of tables whose rows carry a version.
var rowVersion = []string{"version"}

func rigTargets(r *journal.Rig) []any {
	return []any{&r.ID, &r.Name, &r.Revision, &r.Method, &r.RodLengthMM, &r.LeaderLengthMM, &r.SighterLengthMM, &r.Swivel, &r.TippetLengthMM, &r.Notes, &r.CreatedAt, &r.Version}
}

// Rigs lists every rig with its use, the last fished first.
func (s *Store) Rigs(ctx context.Context) ([]journal.RigUse, error) {
	var list []journal.RigUse
	err := s.read(ctx, "list the rigs", func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `SELECT `+rigColumns+`, coalesce(u.stints, 0), coalesce(u.seconds, 0) / 60.0::float8, u.last
			FROM rig r LEFT JOIN (
				SELECT st.rig_id, count(*) AS stints, sum(st.seconds) AS seconds, max(se.day) AS last
				FROM stint st JOIN session se ON se.outfit_id = st.outfit_id AND se.id = st.session_id
				WHERE st.outfit_id = $1 GROUP BY st.rig_id) u ON u.rig_id = r.id
			WHERE r.outfit_id = $1 ORDER BY u.last DESC NULLS LAST, lower(r.name), r.revision DESC`, s.outfit)
		if err != nil {
			return err
		}
		var u journal.RigUse
		_, err = pgx.ForEachRow(rows, append(rigTargets(&u.Rig), &u.Stints, &u.Minutes, &u.LastDay), func() error {
			u.Rig.CreatedAt = u.Rig.CreatedAt.UTC()
			list = append(list, u)
			return nil
		})
		if err != nil {
			return err
		}
		positions, err := s.rigPositions(ctx, tx, nil)
		for i := range list {
			list[i].Positions = positions[list[i].ID]
		}
		return err
	})
	return list, err
}

// RigsToLog lists every rig, the last fished first as far as the latest sessions
// tell, which is what a person chooses from. Rigs says more and reads every stint.
func (s *Store) RigsToLog(ctx context.Context) ([]journal.Rig, error) {
	const latest = 400 // sessions
	var list []journal.Rig
	err := s.read(ctx, "list the rigs", func(tx pgx.Tx) error {
		rows, err := tx.Query(ctx, `SELECT `+rigColumns+` FROM rig r LEFT JOIN (
				SELECT st.rig_id, max(se.day) AS last
				FROM (SELECT id, day FROM session WHERE outfit_id = $1 ORDER BY day DESC, id LIMIT $2) se
				JOIN stint st ON st.outfit_id = $1 AND st.session_id = se.id GROUP BY st.rig_id) u ON u.rig_id = r.id
			WHERE r.outfit_id = $1 ORDER BY u.last DESC NULLS LAST, lower(r.name), r.revision DESC`, s.outfit, latest)
		if err != nil {
			return err
		}
		var rig journal.Rig
		if _, err = pgx.ForEachRow(rows, rigTargets(&rig), func() error {
			rig.CreatedAt = rig.CreatedAt.UTC()
			list = append(list, rig)
			return nil
		}); err != nil {
			return err
		}
		positions, err := s.rigPositions(ctx, tx, nil)
		for i := range list {
			list[i].Positions = positions[list[i].ID]
		}
		return err
	})
	return list, err
}

// RigByID returns one rig, or ErrNotFound.
func (s *Store) RigByID(ctx context.Context, id journal.ID) (journal.Rig, error) {
	rigs, err := s.rigsByID(ctx, []journal.ID{id})
	if err != nil {
		return journal.Rig{}, err
	}
	rig, ok := rigs[id]
	if !ok {
		return journal.Rig{}, fmt.Errorf("rig %s: %w", id, journal.ErrNotFound)
	}
	return rig, nil
}

// rigsByID returns those rigs that exist; nil ids means all.
func (s *Store) rigsByID(ctx context.Context, ids []journal.ID) (map[journal.ID]journal.Rig, error) {
	var rigs map[journal.ID]journal.Rig
	err := s.read(ctx, "read the rigs", func(tx pgx.Tx) (err error) {
		rigs, err = s.readRigs(ctx, tx, ids)
		return err
	})
	return rigs, err
}

func (s *Store) readRigs(ctx context.Context, tx pgx.Tx, ids []journal.ID) (map[journal.ID]journal.Rig, error) {
	rigs := map[journal.ID]journal.Rig{}
	rows, err := tx.Query(ctx, `SELECT `+rigColumns+` FROM rig r WHERE r.outfit_id = $1 AND ($2::uuid[] IS NULL OR r.id = ANY($2))`, s.outfit, ids)
	if err != nil {
		return nil, err
	}
	var rig journal.Rig
	_, err = pgx.ForEachRow(rows, rigTargets(&rig), func() error {
		rig.CreatedAt = rig.CreatedAt.UTC()
		rigs[rig.ID] = rig
		return nil
	})
	if err != nil {
		return nil, err
	}
	positions, err := s.rigPositions(ctx, tx, ids)
	for id, rig := range rigs {
		rig.Positions = positions[id]
		rigs[id] = rig
	}
	return rigs, err
}

func (s *Store) rigPositions(ctx context.Context, tx pgx.Tx, ids []journal.ID) (map[journal.ID][]journal.RigPosition, error) {
	rows, err := tx.Query(ctx, `SELECT rig_id, position, hang, junction, junction_name, facing, prop, tag_length_mm, distance_mm, tippet_mm, material, fly, hook_size, bead_mm, bulk
		FROM rig_position WHERE outfit_id = $1 AND ($2::uuid[] IS NULL OR rig_id = ANY($2)) ORDER BY rig_id, position`, s.outfit, ids)
	if err != nil {
		return nil, err
	}
	positions := map[journal.ID][]journal.RigPosition{}
	var id journal.ID
	var p journal.RigPosition
	_, err = pgx.ForEachRow(rows, []any{&id, &p.Position, &p.Hang, &p.Junction, &p.JunctionName, &p.Facing, &p.Prop, &p.TagLengthMM, &p.DistanceMM,
		&p.TippetMM, &p.Material, &p.Fly, &p.HookSize, &p.BeadMM, &p.Bulk}, func() error {
		positions[id] = append(positions[id], p)
		return nil
	})
	return positions, err
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
		id, err := journal.NewID()
		if err != nil {
			return err
		}
		rig.ID = id
	}
	if rig.CreatedAt.IsZero() {
		rig.CreatedAt = time.Now().UTC().Truncate(time.Microsecond)
	}
	rig.Version = max(1, rig.Version)
	batch := &pgx.Batch{}
	batch.Queue(insertInto("rig", slices.Concat(rigTable, rowVersion)), append(rigRow(*rig, s.outfit), rig.Version)...)
	for _, p := range rig.Positions {
		batch.Queue(insertInto("rig_position", rigPositionTable), rigPositionRow(p, s.outfit, rig.ID)...)
	}
	return tx.SendBatch(ctx, batch).Close()
}

// DeleteRig removes a rig that has never been fished, if it is still the version
// that was seen; 0 is any.
func (s *Store) DeleteRig(ctx context.Context, id journal.ID, seen int) error {
	return s.write(ctx, "delete the rig", func(tx pgx.Tx) error {
		known, err := s.readRigs(ctx, tx, []journal.ID{id})
		if err != nil {
			return err
		}
		rig, held := known[id]
		if !held {
			return fmt.Errorf("rig %s: %w", id, journal.ErrNotFound)
		}
		if err := journal.Stale("rig", seen, rig.Version, false, rig); err != nil {
			return err
		}
		_, err = tx.Exec(ctx, `DELETE FROM rig WHERE outfit_id = $1 AND id = $2`, s.outfit, id)
		return err
	})
}

// LatestRig returns the last revision of a name, without regard to case, or ErrNotFound.
func (s *Store) LatestRig(ctx context.Context, name string) (journal.Rig, error) {
	var id journal.ID
	err := s.pool.QueryRow(ctx, `SELECT id FROM rig WHERE outfit_id = $1 AND lower(name) = lower($2) ORDER BY revision DESC LIMIT 1`, s.outfit, strings.TrimSpace(name)).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return journal.Rig{}, fmt.Errorf("rig %q: %w", name, journal.ErrNotFound)
	}
	if err != nil {
		return journal.Rig{}, explain("find the rig "+name, err)
	}
	return s.RigByID(ctx, id)
}
