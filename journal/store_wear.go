package journal

import (
	"context"
	"slices"

	"github.com/jackc/pgx/v5"
)

// TagSession is what a session tells of tags that wear down and tangle: sums over its
// droppers on a tag. A stint's time counts once for each of those. An event on no fly in
// particular counts where the rig has one dropper only, and is left out elsewhere.
type TagSession struct {
	Session ID

	// Over the stints whose minutes were noted.
	Hours   float64
	Changes float64 // fly changes
	Reties  float64
	Breaks  float64 // at the junction or in the tag
	Loads   float64

	// Over the events of which it was noted.
	Tangles, TangleMinutes float64 // tangles, and the minutes they cost
	Tied, TiedMinutes      float64 // re-ties, and the minutes they cost
	Cuts, CutMM            float64 // fly changes, and the tag they cost
}

// TagSessions returns what the sessions tell of tags, in order of their ids. Conditions on
// the length of the tag are passed over: what a change or a tangle costs does not
// hang on it.
func (s *Store) TagSessions(ctx context.Context, where []Condition) ([]TagSession, error) {
	where = slices.DeleteFunc(slices.Clone(where), func(c Condition) bool { return c.Factor.Key == tagLength })
	var list []TagSession
	err := s.read(ctx, "add up what tags cost", func(tx pgx.Tx) (err error) {
		if list, err = s.tagHours(ctx, tx, where); err != nil {
			return err
		}
		return s.tagCosts(ctx, tx, where, func(id ID) *TagSession {
			i, found := slices.BinarySearchFunc(list, id, func(t TagSession, id ID) int { return slices.Compare(t.Session[:], id[:]) })
			if !found {
				list = slices.Insert(list, i, TagSession{Session: id})
			}
			return &list[i]
		})
	})
	return list, err
}

// ofTag is the FROM and WHERE of droppers on a tag for which the conditions hold.
func (s *Store) ofTag(b *query, where []Condition) (from, conditions string) {
	needed := []Factor{{tables: []string{"rp"}}}
	for _, c := range where {
		needed = append(needed, c.Factor)
	}
	conditions = "c.outfit_id = " + b.arg(s.outfit) + " AND c.position > 0 AND rp.hang = 'tag'"
	for _, sql := range (Question{Where: where}).where(b) {
		conditions += " AND " + sql
	}
	return "stint_position c" + joins("c", needed), conditions
}

func (s *Store) tagHours(ctx context.Context, tx pgx.Tx, where []Condition) ([]TagSession, error) {
	b := &query{}
	from, conditions := s.ofTag(b, where)
	rows, err := tx.Query(ctx, `SELECT c.session_id, sum(c.seconds) / 3600.0::float8, sum(c.fly_changes)::float8, sum(c.reties)::float8,
			sum(c.broke_junction + c.broke_tag)::float8, sum(c.loads)::float8
		FROM `+from+` WHERE `+conditions+` AND c.seconds IS NOT NULL GROUP BY c.session_id ORDER BY c.session_id`, b.args...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (t TagSession, err error) {
		return t, row.Scan(&t.Session, &t.Hours, &t.Changes, &t.Reties, &t.Breaks, &t.Loads)
	})
}

func (s *Store) tagCosts(ctx context.Context, tx pgx.Tx, where []Condition, of func(ID) *TagSession) error {
	b := &query{}
	from, conditions := s.ofTag(b, where)
	rows, err := tx.Query(ctx, `SELECT c.session_id, e.kind, sum(e.count)::float8, coalesce(sum(e.minutes_lost), 0)::float8, coalesce(sum(e.count * e.cut_mm), 0)
		FROM `+from+`
		JOIN event e ON e.outfit_id = c.outfit_id AND e.stint_id = c.stint_id AND (e.position = c.position OR e.position IS NULL AND NOT EXISTS (
			SELECT FROM rig_position other WHERE other.outfit_id = c.outfit_id AND other.rig_id = c.rig_id AND other.position > 0 AND other.position <> c.position))
		WHERE `+conditions+` AND (e.kind IN ('tangle', 're-tie') AND e.minutes_lost IS NOT NULL OR e.kind = 'fly change' AND e.cut_mm IS NOT NULL)
		GROUP BY c.session_id, e.kind`, b.args...)
	if err != nil {
		return err
	}
	var session ID
	var kind EventKind
	var count, minutes, cut float64
	_, err = pgx.ForEachRow(rows, []any{&session, &kind, &count, &minutes, &cut}, func() error {
		t := of(session)
		switch kind {
		case EventTangle:
			t.Tangles, t.TangleMinutes = count, minutes
		case EventRetie:
			t.Tied, t.TiedMinutes = count, minutes
		case EventFlyChange:
			t.Cuts, t.CutMM = count, cut
		}
		return nil
	})
	return err
}
