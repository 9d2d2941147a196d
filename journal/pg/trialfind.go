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
	return view(ctx, s, "find what may have been fished", func(tx pgx.Tx) ([]journal.TrialCandidate, error) {
		type found struct {
			id            journal.ID
			angler, water string
		}
		var all []found
		var ids []journal.ID
		var at found
		err := each(ctx, tx, []any{&at.id, &at.angler, &at.water}, func() { all, ids = append(all, at), append(ids, at.id) },
			`SELECT s.id, a.name, w.name FROM session s JOIN angler a ON a.outfit_id = s.outfit_id AND a.id = s.angler_id
			JOIN water w ON w.outfit_id = s.outfit_id AND w.id = s.water_id
			WHERE s.outfit_id = $1 AND s.day BETWEEN $2::date - 1 AND $2::date + 7 ORDER BY abs(s.day - $2::date), s.started_at, s.id LIMIT 12`,
			s.outfit, journal.DateOf(u.StartedAt.UTC()))
		if err != nil || len(ids) == 0 {
			return nil, err
		}
		sessions, rigs, err := s.fishedInTrial(ctx, tx, t, ids)
		if err != nil {
			return nil, err
		}
		var list []journal.TrialCandidate
		for _, at := range all {
			for _, c := range t.Candidates(sessions[at.id], rigs) {
				c.Ordinal, c.Angler, c.Water = ordinal, at.angler, at.water
				if len(list) < mostCandidates && !t.Attached(c.Attachment) {
					list = append(list, c)
				}
			}
		}
		return list, nil
	})
}

// fishedInTrial reads some sessions, with their rigs and those of a trial's arms.
func (s *Store) fishedInTrial(ctx context.Context, tx pgx.Tx, t journal.Trial, ids []journal.ID) (map[journal.ID]journal.Session, map[journal.ID]journal.Rig, error) {
	if len(ids) == 0 {
		return nil, nil, nil
	}
	sessions, err := s.readSessions(ctx, tx, ids)
	if err != nil {
		return nil, nil, err
	}
	rigs, err := s.trialRigs(ctx, tx, t, sessions)
	return sessionsByID(sessions), rigs, err
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
	return view(ctx, s, "count what was fished in the trial", func(tx pgx.Tx) ([]journal.TrialCount, error) {
		sessions, rigs, err := s.fishedInTrial(ctx, tx, t, ids)
		if err != nil {
			return nil, err
		}
		return t.CountUnits(sessions, rigs)
	})
}
