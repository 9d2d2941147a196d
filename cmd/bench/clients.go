package main

import (
	"context"
	"fmt"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"rigtally/journal"
	"rigtally/journal/pg"
)

const (
	clientCount = 64
	clientSaves = 20 // each
	clientMost  = 250 * time.Millisecond
)

// clients times saves of 64 clients at once, each sending the next when the last was answered, in a journal of 100,000
// stints that is one outfit's, and in one of as many outfits as clients; against one client alone, and against the rows
// alone put in by as many clients of PostgreSQL.
func (b *bench) clients(ctx context.Context) error {
	for _, outfits := range []int{1, clientCount} {
		database := fmt.Sprintf("clients_%d", outfits)
		site, err := b.siteOf(ctx, database, outfits, largeStints/outfits)
		if err != nil {
			return err
		}
		if err := b.clientsAt(ctx, site, database, outfits); err != nil {
			site.store.Close()
			return err
		}
		site.store.Close()
	}
	return nil
}

func (b *bench) clientsAt(ctx context.Context, s *site, database string, outfits int) error {
	visitors := make([]*visitor, clientCount)
	for i := range visitors {
		visitors[i] = s.visitor(1 + i%outfits)
		var err error
		if visitors[i].last, err = visitors[i].store.LastSession(ctx); err != nil {
			return err
		}
	}
	pool, err := pgxpool.New(ctx, pg.WithConnections(b.server.URL(database), pg.UsualConnections))
	if err != nil {
		return err
	}
	defer pool.Close()
	bare, err := bareSaves(ctx, pool, visitors)
	if err != nil {
		return err
	}
	put := func(i int) error { return visitors[i].put(ctx, again(visitors[i].last)) }
	for i := range visitors { // rooms are furnished, statements prepared
		if err := put(i); err != nil {
			return err
		}
	}
	fmt.Printf("\n%d clients saving at once in %d outfits of %d stints in all, over HTTP\n", clientCount, outfits, largeStints)
	p99 := map[string]time.Duration{}
	for _, way := range []struct {
		name string
		n    int
		save func(int) error
	}{{"one client", 1, put}, {"rigtally", clientCount, put}, {"bare rows", clientCount, bare}, {"rigtally", clientCount, put}, {"bare rows", clientCount, bare}} {
		begin := time.Now()
		times, err := atOnce(way.n, clientSaves, way.save)
		if err != nil {
			return fmt.Errorf("%s: %w", way.name, err)
		}
		p99[way.name] = times.quantile(0.99)
		fmt.Printf("  %-10s  half within %s, 99%% within %s, %.0f a second\n", way.name, round(times.median()), round(times.quantile(0.99)), float64(len(times))/time.Since(begin).Seconds())
	}
	fmt.Printf("  ratio       99%% within %.2f times that of the bare rows; aim %s: %s\n", p99["rigtally"].Seconds()/p99["bare rows"].Seconds(), clientMost, metOrMissed(p99["rigtally"] <= clientMost))
	return nil
}

// atOnce times a step of so many clients, each so many times.
func atOnce(clients, each int, step func(client int) error) (timed, error) {
	var all timed
	var failed error
	var mu sync.Mutex
	var work sync.WaitGroup
	for i := range clients {
		work.Go(func() {
			for range each {
				d, err := clock(func() error { return step(i) })
				mu.Lock()
				if all = append(all, d); err != nil {
					failed = err
				}
				mu.Unlock()
			}
		})
	}
	work.Wait()
	return all, failed
}

// bareSaves puts the rows of each visitor's last session in again, under new ids, with nothing else that a save does.
func bareSaves(ctx context.Context, pool *pgxpool.Pool, visitors []*visitor) (func(int) error, error) {
	type table struct {
		insert string
		rows   [][]any
	}
	held := make([][]table, len(visitors))
	for i, v := range visitors {
		for _, t := range []string{"session", "stint", "stint_position", "tag_spell", "event"} {
			of := "session_id = $2"
			switch t {
			case "session":
				of = "id = $2"
			case "event":
				of = "stint_id IN (SELECT id FROM stint WHERE outfit_id = $1 AND session_id = $2)"
			}
			rows, err := pool.Query(ctx, "SELECT * FROM "+t+" WHERE outfit_id = $1 AND "+of, v.store.OutfitID().String(), v.last.ID.String())
			if err != nil {
				return nil, err
			}
			list := ""
			for n := range rows.FieldDescriptions() {
				list += fmt.Sprintf(", $%d", n+1)
			}
			all, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) ([]any, error) { return row.Values() })
			if err != nil {
				return nil, err
			}
			held[i] = append(held[i], table{"INSERT INTO " + t + " VALUES (" + list[2:] + ")", all})
		}
	}
	return func(i int) error {
		v, fresh := visitors[i], map[[16]byte][16]byte{}
		for _, id := range append([]journal.ID{v.last.ID}, stintIDs(v.last)...) {
			fresh[id] = journal.NewID()
		}
		return pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
			batch := &pgx.Batch{}
			batch.Queue(`SELECT set_config('rigtally.outfit', $1, true)`, v.store.OutfitID().String())
			for _, t := range held[i] {
				for _, row := range t.rows {
					own := make([]any, len(row))
					for n, value := range row {
						if id, is := value.([16]byte); is && fresh[id] != [16]byte{} {
							value = fresh[id]
						}
						own[n] = value
					}
					batch.Queue(t.insert, own...)
				}
			}
			return tx.SendBatch(ctx, batch).Close()
		})
	}, nil
}

func stintIDs(s journal.Session) (ids []journal.ID) {
	for _, st := range s.Stints {
		ids = append(ids, st.ID)
	}
	return ids
}
