package pg

import (
	"context"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

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
