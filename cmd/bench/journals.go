package main

import (
	"context"
	_ "embed"
	"fmt"
	"time"

	"rigtally/journal/demo"
)

const (
	smallStints = 5_000
	largeStints = 100_000
	copies      = 10 // of the large journal, itself among them, as repeat.sql makes

	small = "stints_5000" // databases
	large = "stints_100000"
)

// repeatSQL makes the large journal ten times as large.
//
//go:embed repeat.sql
var repeatSQL string

// exportSQL writes the rows of fits for R, by SQL of its own.
//
//go:embed export.sql
var exportSQL string

// invent makes a journal of an invented outfit with at least so many stints,
// unless it is there, and returns how many.
func (b *bench) invent(ctx context.Context, database string, stints int) (int, error) {
	if n := b.stints[database]; n > 0 {
		return n, nil
	}
	store, err := b.open(ctx, database)
	if err != nil {
		return 0, err
	}
	defer store.Close()
	const perSession = 2.4 // hardly less than in the demo season
	s := demo.Generate(7, int(float64(stints)/perSession))
	n := 0
	for i, session := range s.Sessions {
		if n += len(session.Stints); n >= stints {
			s.Sessions = s.Sessions[:i+1]
			break
		}
	}
	b.stints[database] = n
	return n, demo.Load(ctx, store, s)
}

// repeat makes the large journal ten times as large, and returns its stints.
func (b *bench) repeat(ctx context.Context) (int, error) {
	n, err := b.invent(ctx, large, largeStints)
	if err != nil {
		return 0, err
	}
	d, err := b.script(large, repeatSQL)
	if err != nil {
		return 0, err
	}
	b.stints[large] = n * copies
	fmt.Printf("\n(%d stints made %d in %s)\n", n, n*copies, d.Round(time.Second))
	return n * copies, nil
}

// export writes the rows behind each question as CSV.
func (b *bench) export(database string) (map[string]string, error) {
	plain, spells := b.csv(database+"_plain"), b.csv(database+"_spells")
	_, err := b.script(database, fmt.Sprintf(exportSQL, plain, spells))
	return map[string]string{"plain": plain, "corrected": spells, "curve": spells}, err
}
