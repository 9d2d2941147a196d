package pg

import (
	"context"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// TieLives follows every tag from its tying to its end, by the level of a factor: through
// the stints in order and the events of those in which something broke or was re-tied. A life's
// level and whether it counts are those at its beginning.
func (s *Store) TieLives(ctx context.Context, by journal.By, where []journal.Condition) (facts.TieLives, error) {
	var lives facts.TieLives
	err := s.readWithFacts(ctx, "follow how long tags last", func(tx pgx.Tx, f *facts.Facts) error {
		events, err := s.tieEvents(ctx, tx)
		if err != nil {
			return err
		}
		ends, err := s.tagEnds(ctx, tx)
		if err != nil {
			return err
		}
		lives = f.TieLives(by, where, events, ends)
		return nil
	})
	return lives, err
}

// tieEvents reads what happened in stints in which a tie ended.
func (s *Store) tieEvents(ctx context.Context, tx pgx.Tx) (map[facts.StintPlace][]journal.Event, error) {
	events := map[facts.StintPlace][]journal.Event{}
	var at facts.StintPlace
	err := eventTable.each(ctx, tx, []any{&at.Session, &at.Ordinal}, func(e journal.Event) { events[at] = append(events[at], e) }, `SELECT st.session_id, st.ordinal, `+eventTable.list("e")+`
		FROM event e JOIN stint st ON st.outfit_id = e.outfit_id AND st.id = e.stint_id
		WHERE e.outfit_id = $1 AND e.kind IN ('hookup', 'snag', 're-tie') AND st.reties + st.broke_junction + st.broke_tag > 0 ORDER BY e.stint_id, e.ordinal`, s.outfit)
	return events, err
}

// tagEnds reads the lengths of tags that were noted for the end of a stint.
func (s *Store) tagEnds(ctx context.Context, tx pgx.Tx) (map[facts.StintPlace]float64, error) {
	rows, err := tx.Query(ctx, `SELECT p.session_id, st.ordinal, p.position, p.tag_end_mm FROM stint_position p JOIN stint st ON st.outfit_id = p.outfit_id AND st.id = p.stint_id
		WHERE p.outfit_id = $1 AND p.tag_end_mm IS NOT NULL`, s.outfit)
	if err != nil {
		return nil, err
	}
	ends := map[facts.StintPlace]float64{}
	var at facts.StintPlace
	var mm float64
	_, err = pgx.ForEachRow(rows, []any{&at.Session, &at.Ordinal, &at.Position, &mm}, func() error {
		ends[at] = mm
		return nil
	})
	return ends, err
}
