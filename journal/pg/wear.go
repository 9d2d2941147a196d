package pg

import (
	"context"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// TagSessions returns what the sessions tell of tags, in order of their ids. Conditions on
// the length of the tag are passed over.
func (s *Store) TagSessions(ctx context.Context, where []journal.Condition) ([]facts.TagSession, error) {
	var list []facts.TagSession
	err := s.readWithFacts(ctx, "add up what tags cost", func(tx pgx.Tx, f *facts.Facts) error {
		costs, err := s.tagCosts(ctx, tx)
		if err != nil {
			return err
		}
		list = f.TagSessions(where, costs)
		return nil
	})
	return list, err
}

// tagCosts reads what events on tags cost, where it was noted, by stint.
func (s *Store) tagCosts(ctx context.Context, tx pgx.Tx) (map[facts.StintPlace][]facts.TagCost, error) {
	rows, err := tx.Query(ctx, `SELECT st.session_id, st.ordinal, e.position, e.kind, e.count, e.minutes_lost, e.cut_mm
		FROM event e JOIN stint st ON st.outfit_id = e.outfit_id AND st.id = e.stint_id
		WHERE e.outfit_id = $1 AND (e.kind IN ('tangle', 're-tie') AND e.minutes_lost IS NOT NULL OR e.kind = 'fly change' AND e.cut_mm IS NOT NULL)`, s.outfit)
	if err != nil {
		return nil, err
	}
	costs := map[facts.StintPlace][]facts.TagCost{}
	var at facts.StintPlace
	var c facts.TagCost
	_, err = pgx.ForEachRow(rows, []any{&at.Session, &at.Ordinal, &c.Position, &c.Kind, &c.Count, &c.MinutesLost, &c.CutMM}, func() error {
		costs[at] = append(costs[at], c)
		return nil
	})
	return costs, err
}
