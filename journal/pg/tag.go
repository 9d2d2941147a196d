package pg

import (
	"context"
	"errors"
	"slices"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/facts"
)

// FishedWith adds up what an angler fished until a day, one session left out, with rigs tied like
// one: as many droppers, and tags as long. Only stints count whose time is known and whose tangles were counted.
func (s *Store) FishedWith(ctx context.Context, angler, but journal.ID, until journal.Date, rig journal.Rig) (t journal.Totals, err error) {
	const alike = 1.6 // mm: a sixteenth of an inch, as it is measured
	lengths := make([]float64, 0, len(rig.Positions))
	for _, p := range rig.Droppers() {
		if lengths = append(lengths, 0); p.TagLengthMM != nil {
			lengths[len(lengths)-1] = *p.TagLengthMM
		}
	}
	err = s.once().QueryRow(ctx, `WITH alike AS (SELECT r.id FROM rig r WHERE r.outfit_id = $1 AND NOT EXISTS (
				SELECT FROM (SELECT row_number() OVER (ORDER BY p.position) AS n, coalesce(p.tag_length_mm, 0) AS mm FROM rig_position p
					WHERE p.outfit_id = r.outfit_id AND p.rig_id = r.id AND p.position > 0) p
				FULL JOIN unnest($5::float8[]) WITH ORDINALITY AS w (mm, n) ON w.n = p.n WHERE p.n IS NULL OR w.n IS NULL OR abs(p.mm - w.mm) > $6))
		SELECT count(DISTINCT se.id), coalesce(sum(st.seconds), 0) / 60.0::float8, coalesce(sum(st.tangles), 0), count(*), count(*)
		FROM alike JOIN stint st ON st.outfit_id = $1 AND st.rig_id = alike.id JOIN session se ON se.outfit_id = $1 AND se.id = st.session_id
		WHERE se.angler_id = $2 AND se.id <> $3 AND se.day <= $4 AND st.seconds IS NOT NULL AND `+keptSQL(journal.KindTangles),
		s.outfit, angler, but, until, lengths, alike).Scan(&t.Sessions, &t.Minutes, &t.Tangles.N, &t.Tangles.Stints, &t.Tangles.Kept)
	return t, explain("add up what was fished with a tag", err)
}

// TieLives follows every tag from its tying to its end, by the level of a factor: through
// the stints in order and the events of those in which something broke or was re-tied. A life's
// level and whether it counts are those at its beginning.
func (s *Store) TieLives(ctx context.Context, by journal.By, where []journal.Condition) (facts.TieLives, error) {
	return viewWithFacts(ctx, s, "follow how long tags last", func(tx pgx.Tx, f *facts.Facts) (facts.TieLives, error) {
		events, err := s.tieEvents(ctx, tx)
		if err != nil {
			return facts.TieLives{}, err
		}
		ends, err := s.tagEnds(ctx, tx)
		if err != nil {
			return facts.TieLives{}, err
		}
		return f.TieLives(by, where, events, ends), nil
	})
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
	ends := map[facts.StintPlace]float64{}
	var at facts.StintPlace
	var mm float64
	err := each(ctx, tx, []any{&at.Session, &at.Ordinal, &at.Position, &mm}, func() {
		ends[at] = mm
	}, `SELECT p.session_id, st.ordinal, p.position, p.tag_end_mm FROM stint_position p JOIN stint st ON st.outfit_id = p.outfit_id AND st.id = p.stint_id
		WHERE p.outfit_id = $1 AND p.tag_end_mm IS NOT NULL`, s.outfit)
	return ends, err
}

// LastTags returns the last known length of each tag of a rig, from its last
// stint. A tag of which that stint does not tell is left out.
func (s *Store) LastTags(ctx context.Context, rig journal.Rig) ([]journal.LastTag, error) {
	return view(ctx, s, "read the last tag lengths", func(tx pgx.Tx) ([]journal.LastTag, error) {
		var session, stint journal.ID
		var day journal.Date
		err := tx.QueryRow(ctx, `SELECT se.id, st.id, se.day FROM stint st JOIN session se ON se.outfit_id = st.outfit_id AND se.id = st.session_id
			WHERE st.outfit_id = $1 AND st.rig_id = $2 ORDER BY se.day DESC, se.started_at DESC NULLS LAST, se.id DESC, st.ordinal DESC LIMIT 1`, s.outfit, rig.ID).Scan(&session, &stint, &day)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil, nil
		}
		if err != nil {
			return nil, err
		}
		stints, err := s.readStints(ctx, tx, []journal.ID{session})
		at := slices.IndexFunc(stints[session], func(st journal.Stint) bool { return st.ID == stint })
		if err != nil || at < 0 {
			return nil, err
		}
		return journal.LastTags(rig, stints[session][at], day), nil
	})
}

// TagCuts lists what fly changes took off tags, in mm, and how often, ascending.
// Changes that cost no tag are left out.
func (s *Store) TagCuts(ctx context.Context) ([]journal.Written, error) {
	list, err := listOf(ctx, s.once(), pgx.RowToStructByPos[journal.Written], `SELECT cut_mm, sum(count)::bigint FROM event WHERE outfit_id = $1 AND kind = 'fly change' AND cut_mm > 0 GROUP BY cut_mm ORDER BY cut_mm`, s.outfit)
	return list, explain("list the cuts", err)
}

// TagSessions returns what the sessions tell of tags, in order of their ids. Conditions on
// the length of the tag are passed over.
func (s *Store) TagSessions(ctx context.Context, where []journal.Condition) ([]facts.TagSession, error) {
	return viewWithFacts(ctx, s, "add up what tags cost", func(tx pgx.Tx, f *facts.Facts) ([]facts.TagSession, error) {
		costs, err := s.tagCosts(ctx, tx)
		if err != nil {
			return nil, err
		}
		return f.TagSessions(where, costs), nil
	})
}

// tagCosts reads what events on tags cost, where it was noted, by stint.
func (s *Store) tagCosts(ctx context.Context, tx pgx.Tx) (map[facts.StintPlace][]facts.TagCost, error) {
	costs := map[facts.StintPlace][]facts.TagCost{}
	var at facts.StintPlace
	var c facts.TagCost
	err := each(ctx, tx, []any{&at.Session, &at.Ordinal, &c.Position, &c.Kind, &c.Count, &c.MinutesLost, &c.CutMM}, func() {
		costs[at] = append(costs[at], c)
	}, `SELECT st.session_id, st.ordinal, e.position, e.kind, e.count, e.minutes_lost, e.cut_mm
		FROM event e JOIN stint st ON st.outfit_id = e.outfit_id AND st.id = e.stint_id
		WHERE e.outfit_id = $1 AND (e.kind IN ('tangle', 're-tie') AND e.minutes_lost IS NOT NULL OR e.kind = 'fly change' AND e.cut_mm IS NOT NULL)`, s.outfit)
	return costs, err
}
