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
	if err := b.command(b.server.URL(database), "-c", "VACUUM ANALYZE", "-c", "CHECKPOINT"); err != nil {
		return nil, err
	}
	took := map[string]timed{}
	for i := range saveRounds {
		if err := b.saveOnce(ctx, store, last, i, took); err != nil {
			return nil, err
		}
	}
	return took, nil
}

func (b *bench) saveOnce(ctx context.Context, store *pg.Store, like journal.Session, round int, took map[string]timed) error {
	fresh, err := again(like)
	if err != nil {
		return err
	}
	fresh.Notes = fmt.Sprintf("round %d", round)
	changed := fresh
	for step, do := range []func() error{
		func() error {
			_, err := store.LogSession(ctx, journal.Draft{Session: fresh, Confirmed: true})
			return err
		},
		func() error {
			_, err := store.LogSession(ctx, journal.Draft{Session: fresh, Confirmed: true})
			return err
		},
		func() error {
			changed.Version, changed.Notes = 1, "changed"
			_, err := store.LogSession(ctx, journal.Draft{Session: changed, Confirmed: true})
			return err
		},
		func() error { _, err := store.LastSession(ctx); return err },
		func() error { _, err := store.SessionByID(ctx, fresh.ID); return err },
		func() error { return store.DeleteSession(ctx, fresh.ID, 2) },
	} {
		d, err := clock(do)
		if err != nil {
			return err
		}
		took[saveSteps[step]] = append(took[saveSteps[step]], d)
	}
	return nil
}

// again is a session like another, under ids of its own.
func again(s journal.Session) (journal.Session, error) {
	var err error
	if s.ID, err = journal.NewID(); err != nil {
		return s, err
	}
	s.Version, s.LoggedAt = 0, time.Time{}
	s.Stints = append([]journal.Stint{}, s.Stints...)
	for i := range s.Stints {
		if s.Stints[i].ID, err = journal.NewID(); err != nil {
			return s, err
		}
	}
	return s, nil
}
