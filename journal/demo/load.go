package demo

import (
	"context"
	"fmt"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// Load puts a season into a journal and gives the outfit its name, units and
// zone. All of it is added or nothing; loading the same season twice is an error.
func Load(ctx context.Context, store *pg.Store, s Season) error {
	err := store.Add(ctx, journal.Addition{Outfit: &s.Outfit, Anglers: s.Anglers, Waters: s.Waters, Rigs: s.Rigs, Claims: s.Claims, Pulls: s.Pulls, Sessions: s.Sessions}, nil)
	if err != nil {
		return fmt.Errorf("load the invented season: %w", err)
	}
	return nil
}

// Fill loads a season and plays the invented trial after it.
func Fill(ctx context.Context, store *pg.Store, s Season) (journal.Trial, error) {
	if err := Load(ctx, store, s); err != nil {
		return journal.Trial{}, err
	}
	return PlayTrial(ctx, store, s, TrialSeed, TrialSessions)
}
