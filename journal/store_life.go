package journal

import (
	"context"
	"strings"

	"github.com/jackc/pgx/v5"
)

// TieLives follows every tag from its tying to its end, by the level of a factor, in one
// pass over the stints in order and one over the events of those in which something broke
// or was re-tied. A life's level and whether it counts are those at its beginning.
func (s *Store) TieLives(ctx context.Context, by By, where []Condition) (TieLives, error) {
	walk := newTieWalk()
	err := s.read(ctx, "follow how long tags last", func(tx pgx.Tx) error {
		events, err := s.tieEvents(ctx, tx)
		if err != nil {
			return err
		}
		if walk.rigs, err = s.tieRigs(ctx, tx); err != nil {
			return err
		}
		return s.tieStints(ctx, tx, by, where, events, walk)
	})
	return walk.out, err
}

// tieEvents reads what happened in stints in which a tie ended.
func (s *Store) tieEvents(ctx context.Context, tx pgx.Tx) (map[ID][]Event, error) {
	rows, err := tx.Query(ctx, `SELECT `+eventColumns+` FROM event e JOIN stint st ON st.outfit_id = e.outfit_id AND st.id = e.stint_id
		WHERE e.outfit_id = $1 AND e.kind IN ('hookup', 'snag', 're-tie') AND st.reties + st.broke_junction + st.broke_tag > 0 ORDER BY e.stint_id, e.ordinal`, s.outfit)
	if err != nil {
		return nil, err
	}
	return collectEvents(rows)
}

// tieRigs reads which positions rigs have.
func (s *Store) tieRigs(ctx context.Context, tx pgx.Tx) (map[ID]Rig, error) {
	rows, err := tx.Query(ctx, `SELECT rig_id, position FROM rig_position WHERE outfit_id = $1 ORDER BY rig_id, position`, s.outfit)
	if err != nil {
		return nil, err
	}
	rigs := map[ID]Rig{}
	var id ID
	var position int
	_, err = pgx.ForEachRow(rows, []any{&id, &position}, func() error {
		rig := rigs[id]
		rig.Positions = append(rig.Positions, RigPosition{Position: position})
		rigs[id] = rig
		return nil
	})
	return rigs, err
}

// atStart is a factor's SQL at the beginning of a stint.
func atStart(sql string) string { return strings.ReplaceAll(sql, "c.tag_mm", "c.tag_start_mm") }

func (s *Store) tieStints(ctx context.Context, tx pgx.Tx, by By, where []Condition, events map[ID][]Event, walk *tieWalk) error {
	b := &query{}
	word, number := "NULL::text", "NULL::float8"
	if by.Factor.Quantity == Words {
		word = atStart(by.Factor.sql)
	} else {
		number = "(" + atStart(by.Factor.sql) + ")::float8"
	}
	needed := []Factor{by.Factor, {tables: []string{"rp", "st"}}}
	for _, c := range where {
		needed = append(needed, c.Factor)
	}
	counts := "true"
	if list := (Question{Where: where}).where(b); len(list) > 0 {
		counts = atStart("(" + strings.Join(list, " AND ") + ") IS TRUE")
	}
	rows, err := tx.Query(ctx, `SELECT c.session_id, c.stint_id, c.rig_id, st.ordinal, c.position, c.seconds / 60.0::float8, coalesce(c.tag_start_mm, rp.tag_length_mm),
			coalesce(c.tag_end_mm, CASE WHEN c.tag_changed THEN (SELECT s.tag_mm FROM tag_spell s WHERE s.outfit_id = c.outfit_id AND s.stint_id = c.stint_id AND s.position = c.position ORDER BY s.ordinal DESC LIMIT 1)
				WHEN c.fly_changes = 0 AND c.reties = 0 THEN coalesce(c.tag_start_mm, rp.tag_length_mm) END),
			c.loads::float8, `+word+`, `+number+`, `+counts+`, st.reties + st.broke_junction + st.broke_tag > 0
		FROM stint_position c`+joins("c", needed)+`
		WHERE c.outfit_id = `+b.arg(s.outfit)+` AND c.position > 0 AND rp.hang = 'tag' ORDER BY c.session_id, st.ordinal, c.position`, b.args...)
	if err != nil {
		return err
	}
	var t tiedStint
	var named *string
	var measured *float64
	var stint []tiedStint
	_, err = pgx.ForEachRow(rows, []any{&t.session, &t.stint, &t.rig, &t.ordinal, &t.position, &t.minutes, &t.start, &t.end, &t.loads, &named, &measured, &t.counts, &t.changed}, func() error {
		t.level, t.missing, t.events = Level{}, "", events[t.stint]
		switch {
		case named != nil:
			t.level = by.level(*named, 0)
		case measured != nil:
			t.level = by.level("", *measured)
		default:
			t.missing = by.Factor.Missing
		}
		if len(stint) > 0 && stint[0].stint != t.stint {
			walk.stint(stint)
			stint = stint[:0]
		}
		stint = append(stint, t)
		return nil
	})
	if err != nil {
		return err
	}
	if len(stint) > 0 {
		walk.stint(stint)
	}
	walk.close()
	return nil
}
