package pg

import (
	"context"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// mostCandidates keep the choice short.
const mostCandidates = 24

// TrialCandidates lists what may have been fished in a unit and is attached to no
// other of its trial, from the day before its start to a week after, the day of
// the start first.
func (s *Store) TrialCandidates(ctx context.Context, t journal.Trial, ordinal int) ([]journal.TrialCandidate, error) {
	u, ok := t.StartedUnit(ordinal)
	if !ok {
		return nil, journal.ErrNoUnit(ordinal)
	}
	var list []journal.TrialCandidate
	err := s.read(ctx, "find what may have been fished", func(tx pgx.Tx) error {
		day := journal.DateOf(u.StartedAt.UTC())
		rows, err := tx.Query(ctx, `SELECT s.id, a.name, w.name FROM session s JOIN angler a ON a.outfit_id = s.outfit_id AND a.id = s.angler_id
			JOIN water w ON w.outfit_id = s.outfit_id AND w.id = s.water_id
			WHERE s.outfit_id = $1 AND s.day BETWEEN $2::date - 1 AND $2::date + 7 ORDER BY abs(s.day - $2::date), s.started_at, s.id LIMIT 12`, s.outfit, day)
		if err != nil {
			return err
		}
		type where struct{ angler, water string }
		names := map[journal.ID]where{}
		var ids []journal.ID
		var id journal.ID
		var at where
		if _, err := pgx.ForEachRow(rows, []any{&id, &at.angler, &at.water}, func() error {
			names[id], ids = at, append(ids, id)
			return nil
		}); err != nil || len(ids) == 0 {
			return err
		}
		sessions, err := s.readSessions(ctx, tx, ids)
		if err != nil {
			return err
		}
		rigs, err := s.trialRigs(ctx, tx, t, sessions)
		if err != nil {
			return err
		}
		byID := map[journal.ID]journal.Session{}
		for _, session := range sessions {
			byID[session.ID] = session
		}
		for _, id := range ids {
			for _, c := range t.Candidates(byID[id], rigs) {
				c.Ordinal, c.Angler, c.Water = ordinal, names[id].angler, names[id].water
				if len(list) < mostCandidates && !t.Attached(c.Attachment) {
					list = append(list, c)
				}
			}
		}
		return nil
	})
	return list, err
}

// TrialCounts reads what was fished in each unit of a trial, in their order, with
// the outcome's events and exposure counted for the whole rig.
func (s *Store) TrialCounts(ctx context.Context, t journal.Trial) ([]journal.TrialCount, error) {
	var ids []journal.ID
	for _, u := range t.Units {
		if u.SessionID != nil {
			ids = append(ids, *u.SessionID)
		}
	}
	var list []journal.TrialCount
	err := s.read(ctx, "count what was fished in the trial", func(tx pgx.Tx) error {
		sessions := map[journal.ID]journal.Session{}
		if len(ids) > 0 {
			read, err := s.readSessions(ctx, tx, ids)
			if err != nil {
				return err
			}
			for _, session := range read {
				sessions[session.ID] = session
			}
		}
		var all []journal.Session
		for _, session := range sessions {
			all = append(all, session)
		}
		rigs, err := s.trialRigs(ctx, tx, t, all)
		if err != nil {
			return err
		}
		list, err = t.CountUnits(sessions, rigs)
		return err
	})
	return list, err
}
