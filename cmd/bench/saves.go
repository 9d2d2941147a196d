package main

import (
	"context"
	"fmt"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
)

const saveRounds = 40

// saves times how long a session takes to be stored, changed, found again as the
// last one and deleted, in a small journal and a large one.
func (b *bench) saves(ctx context.Context) error {
	var few, many map[string]timed
	for _, j := range []struct {
		database string
		stints   int
		took     *map[string]timed
	}{{small, smallStints, &few}, {large, largeStints, &many}} {
		if _, err := b.invent(ctx, j.database, j.stints); err != nil {
			return err
		}
		took, err := b.saveTimes(ctx, j.database)
		if err != nil {
			return err
		}
		*j.took = took
	}
	fmt.Printf("\na session among %d stints and among %d\n", smallStints, largeStints)
	for _, what := range saveSteps {
		fmt.Printf("  %-28s %s; %s: %.2f times as long\n", what, few[what], many[what], many[what].median().Seconds()/few[what].median().Seconds())
	}
	return nil
}

var saveSteps = []string{"stored", "stored as sent twice", "changed", "found as the last", "read", "deleted"}

func (b *bench) saveTimes(ctx context.Context, database string) (map[string]timed, error) {
	store, err := b.open(ctx, database)
	if err != nil {
		return nil, err
	}
	defer store.Close()
	last, err := store.LastSession(ctx)
	if err != nil {
		return nil, err
	}
	// A journal that was just filled is not what a save meets: the server is still writing and has not cleaned up.
	if err := b.psql(b.server.URL(database), "-c", "VACUUM ANALYZE", "-c", "CHECKPOINT"); err != nil {
		return nil, err
	}
	round := 0
	var fresh journal.Session
	save := func() error { return save(ctx, store, fresh) }
	times, err := inTurn(0, saveRounds,
		func() error {
			fresh = again(last)
			round++
			fresh.Notes = fmt.Sprintf("round %d", round)
			return nil
		},
		save, save,
		func() error { fresh.Version, fresh.Notes = 1, "changed"; return save() },
		func() error { _, err := store.LastSession(ctx); return err },
		func() error { _, err := store.SessionByID(ctx, fresh.ID); return err },
		func() error { return store.DeleteSession(ctx, fresh.ID, 2) })
	if err != nil {
		return nil, err
	}
	took := map[string]timed{}
	for i, step := range saveSteps {
		took[step] = times[1+i]
	}
	return took, nil
}

func save(ctx context.Context, store *pg.Store, s journal.Session) error {
	_, err := store.LogSession(ctx, journal.Draft{Session: s, Confirmed: true})
	return err
}

// saveAgain stores a session like another.
func saveAgain(ctx context.Context, store *pg.Store, s journal.Session) error {
	return save(ctx, store, again(s))
}

// again is a session like another, under ids of its own.
func again(s journal.Session) journal.Session {
	s.ID = journal.NewID()
	s.Version, s.LoggedAt = 0, time.Time{}
	s.Stints = append([]journal.Stint{}, s.Stints...)
	for i := range s.Stints {
		s.Stints[i].ID = journal.NewID()
	}
	return s
}
