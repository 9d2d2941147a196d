package main

import (
	"context"
	"fmt"
	"time"

	"rigtally/journal/facts"
	"rigtally/journal/pg"
)

// The aims of facts kept in memory.
const (
	mostFactBytes = 150                   // a stint
	mostAfterSave = 10 * time.Millisecond // of a question after a save, beyond one before
)

// facts reads a journal into memory, says how much of it that takes, and what a save
// adds to the next question.
func (b *bench) facts(ctx context.Context, store *pg.Store, database string, stints int) error {
	var f *facts.Facts
	reading, err := clock(func() (err error) { f, err = store.Facts(ctx); return err })
	if err != nil {
		return err
	}
	bytes := float64(f.Bytes()) / float64(stints)
	fmt.Printf("\nThe facts of %d stints, read into columns in %s\n  rigtally  %.1f bytes a stint\n", stints, round(reading), bytes)
	if database == large {
		fmt.Printf("  aim       %d; %s\n", mostFactBytes, metOrMissed(bytes <= mostFactBytes))
	}
	return b.afterSaves(ctx, store)
}

// afterSaves asks (a) by itself and after a session was saved, in turn.
func (b *bench) afterSaves(ctx context.Context, store *pg.Store) error {
	last, err := store.LastSession(ctx)
	if err != nil {
		return err
	}
	ask := rates(byJunction, asFished)
	asked := func() error { _, err := ask(ctx, store); return err }
	times, err := inTurn(1, answerRounds, asked, func() error { return saveAgain(ctx, store, last) }, asked)
	if err != nil {
		return err
	}
	before, after := times[0], times[2]
	more := after.median() - before.median()
	fmt.Printf("\n(a) before and after a session was saved\n  before    %s\n  after     %s: %.2f times as long\n  aim       at most %s more; result %s, %s\n",
		before, after, after.median().Seconds()/before.median().Seconds(), mostAfterSave, round(more), metOrMissed(more <= mostAfterSave))
	return nil
}
