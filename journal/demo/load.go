package demo

import (
	"context"
	"fmt"

	"rigtally/journal"
	"rigtally/journal/gauge"
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

// Fill loads a season, plays the invented trial after it, and has the sessions of both take what the invented gauges read.
func Fill(ctx context.Context, store *pg.Store, s Season) (journal.Trial, error) {
	if err := Load(ctx, store, s); err != nil {
		return journal.Trial{}, err
	}
	played, err := PlayTrial(ctx, store, s, TrialSeed, TrialSessions)
	if err != nil {
		return played, err
	}
	return played, Measure(ctx, store, s)
}

// Measure links the season's gauges to its waters, keeps what they read, and fills it in.
func Measure(ctx context.Context, store *pg.Store, s Season) error {
	links, found := s.Gauges()
	if len(links) == 0 {
		return nil
	}
	if _, err := store.KeepOwnReadings(ctx, found); err != nil {
		return fmt.Errorf("keep what the invented gauges read: %w", err)
	}
	for _, w := range s.Waters {
		if link, ok := links[w.ID]; ok {
			w.Gauges = []gauge.Link{link}
			if err := store.SaveWater(ctx, w); err != nil {
				return fmt.Errorf("link the invented gauges: %w", err)
			}
		}
	}
	if _, err := store.Fill(ctx, pg.FillAsk{}); err != nil {
		return fmt.Errorf("fill in what the invented gauges read: %w", err)
	}
	return nil
}
