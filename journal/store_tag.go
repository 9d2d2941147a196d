package journal

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"
)

// LastTag is how long a tag was when its rig was last put away.
type LastTag struct {
	Position int
	LengthMM float64
	Day      Date
}

// LastTags returns the last known length of each tag of a rig, from its last
// stint. A tag of which that stint does not tell is left out.
func (s *Store) LastTags(ctx context.Context, rig Rig) ([]LastTag, error) {
	var list []LastTag
	err := s.read(ctx, "read the last tag lengths", func(tx pgx.Tx) error {
		list = nil
		var session, stint ID
		var day Date
		err := tx.QueryRow(ctx, `SELECT se.id, st.id, se.day FROM stint st JOIN session se ON se.outfit_id = st.outfit_id AND se.id = st.session_id
			WHERE st.outfit_id = $1 AND st.rig_id = $2 ORDER BY se.day DESC, se.started_at DESC NULLS LAST, se.id DESC, st.ordinal DESC LIMIT 1`, s.outfit, rig.ID).Scan(&session, &stint, &day)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		stints, err := s.readStints(ctx, tx, []ID{session})
		if err != nil {
			return err
		}
		for _, st := range stints[session] {
			if st.ID == stint {
				list = lastTags(rig, st, day)
			}
		}
		return nil
	})
	return list, err
}

func lastTags(rig Rig, st Stint, day Date) []LastTag {
	var list []LastTag
	for _, p := range rig.Droppers() {
		if p.Hang != HangTag {
			continue
		}
		if mm := lastLength(rig, st, p); mm != nil {
			list = append(list, LastTag{p.Position, *mm, day})
		}
	}
	return list
}

// lastLength is a tag's length at the end of a stint: as noted, as its cuts
// leave it, or as it began where nothing was done to it; nil when that is not known.
func lastLength(rig Rig, st Stint, p RigPosition) *float64 {
	start, end := tagEnds(st, p)
	if end != nil {
		return end
	}
	spells, err := tagSpells(rig, st, p)
	switch {
	case err == nil && len(spells) > 0:
		return &spells[len(spells)-1].TagMM
	case len(tagChanges(rig, st, p.Position)) == 0 && !retiedSomewhere(rig, st):
		return start
	}
	return nil
}

// TagCuts lists what fly changes took off tags, in mm, and how often, ascending.
// Changes that cost no tag are left out.
func (s *Store) TagCuts(ctx context.Context) ([]Written, error) {
	rows, err := s.pool.Query(ctx, `SELECT cut_mm, sum(count)::bigint FROM event WHERE outfit_id = $1 AND kind = 'fly change' AND cut_mm > 0 GROUP BY cut_mm ORDER BY cut_mm`, s.outfit)
	if err != nil {
		return nil, explain("list the cuts", err)
	}
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[Written])
	return list, explain("list the cuts", err)
}
