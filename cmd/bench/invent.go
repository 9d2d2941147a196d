package main

import (
	"context"
	_ "embed"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

const (
	outfitStints    = 500
	outfitTemplates = 4
	mostOutfits     = 1<<14 - 1 // copies whose ids differ
)

// outfitsSQL copies outfits.
//
//go:embed outfits.sql
var outfitsSQL string

// outfitSeason is an invented season of so many stints.
func outfitSeason(seed uint64, stints int) demo.Season {
	const leastOfSession = 1.5
	s := demo.Generate(seed, int(float64(stints)/leastOfSession))
	n := 0
	for i, session := range s.Sessions {
		if n += len(session.Stints); n >= stints {
			last := &s.Sessions[i]
			last.Stints = last.Stints[:len(last.Stints)-(n-stints)]
			s.Sessions = s.Sessions[:i+1]
			break
		}
	}
	return s
}

// inventOutfits makes outfits 1 to n of so many stints each, beside a few that they are copies of and that the program
// itself fills. The address is that of who keeps the server.
func inventOutfits(ctx context.Context, store *pg.Store, superuser string, n, stints int, progress func(done int)) error {
	if n > mostOutfits {
		return fmt.Errorf("%d outfits are more than the %d whose ids differ", n, mostOutfits)
	}
	conn, err := pgx.Connect(ctx, superuser)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, outfitsSQL); err != nil {
		return fmt.Errorf("prepare to copy outfits: %w", err)
	}
	const step = 100
	done := 0
	for k := range min(outfitTemplates, n) {
		template, err := outfitTemplate(ctx, store, k, stints)
		if err != nil {
			return err
		}
		if _, err := conn.Exec(ctx, `SELECT pg_temp.take($1)`, template.String()); err != nil {
			return fmt.Errorf("read an outfit: %w", err)
		}
		for until := n * (k + 1) / min(outfitTemplates, n); done < until; done = min(done+step, until) {
			if _, err := conn.Exec(ctx, `SELECT pg_temp.repeat($1, $2)`, done+1, min(done+step, until)); err != nil {
				return fmt.Errorf("copy an outfit: %w", err)
			}
			progress(done)
		}
	}
	return nil
}

// outfitTemplate has the program fill an outfit.
func outfitTemplate(ctx context.Context, store *pg.Store, k, stints int) (journal.ID, error) {
	id, err := store.AddOutfit(ctx, fmt.Sprintf("Template %d", k))
	if err != nil {
		return id, err
	}
	return id, demo.Load(ctx, store.In(id, journal.Keeper()), outfitSeason(uint64(k+1), stints))
}

// nthOutfit is the id of a copy, and nthSecret that of its owner's device.
func nthOutfit(n int) (id journal.ID) {
	id = journal.ID{0x01, 0x9b, 0x77, 6: 0x70, 8: 0x80}
	for i := range 3 {
		id[5-i], id[15-i] = byte(n>>(8*i)), byte(n>>(8*i))
	}
	return id
}

func nthSecret(n int) string { return fmt.Sprintf("invented %d", n) }

// manyOutfits opens a database of many outfits, made unless it is there, and tells what that took.
func (b *bench) manyOutfits(ctx context.Context, database string, n, stints int) (*pg.Store, error) {
	store, err := b.open(ctx, database)
	if err != nil {
		return nil, err
	}
	all, err := store.Outfits(ctx)
	if err != nil || len(all) > n {
		return store, err
	}
	begin := time.Now()
	if err := inventOutfits(ctx, store, b.server.URL(database), n, stints, func(int) {}); err != nil {
		store.Close()
		return nil, err
	}
	filled := time.Since(begin)
	err = b.psql(b.server.URL(database), "-c", "VACUUM ANALYZE", "-c", "CHECKPOINT")
	fmt.Printf("\n(%d outfits of %d stints made in %s, and cleaned up in %s more)\n", n, stints, filled.Round(time.Second), (time.Since(begin) - filled).Round(time.Second))
	return store, err
}
