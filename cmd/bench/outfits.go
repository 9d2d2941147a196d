package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
)

const (
	outfitWarm   = 5
	outfitRounds = 60
	outfitMost   = 1.3 // times as long as alone
	othersAtWork = 8
)

// outfits times what one outfit does alone in a database against the same among many, and while others work.
func (b *bench) outfits(ctx context.Context) error {
	alone, err := b.siteOf(ctx, "outfit_alone", 1, outfitStints)
	if err != nil {
		return err
	}
	defer alone.store.Close()
	among, err := b.siteOf(ctx, fmt.Sprintf("outfits_%d", b.many), b.many, outfitStints)
	if err != nil {
		return err
	}
	defer among.store.Close()
	if err := b.sizeOf(ctx, fmt.Sprintf("outfits_%d", b.many), b.many*outfitStints); err != nil {
		return err
	}
	one, same := alone.visitor(1), among.visitor(1)
	for _, v := range []*visitor{one, same} {
		if v.last, err = v.store.LastSession(ctx); err != nil {
			return err
		}
	}
	var steps []func() error
	for _, v := range []*visitor{one, same} {
		steps = append(steps, v.steps(ctx)...)
	}
	measure := func(what string) error {
		times, err := inTurn(outfitWarm, outfitRounds, steps...)
		if err != nil {
			return err
		}
		fmt.Printf("\none outfit of %d stints alone, and %s\n", outfitStints, what)
		for i, step := range outfitSteps {
			alone, among := times[i], times[len(outfitSteps)+i]
			ratio := among.median().Seconds() / alone.median().Seconds()
			fmt.Printf("  %-32s %s; %s: %.2f times as long; aim %.1f: %s\n", step, alone, among, ratio, outfitMost, metOrMissed(ratio <= outfitMost))
		}
		return nil
	}
	if err := measure(fmt.Sprintf("the same among %d", b.many)); err != nil {
		return err
	}
	stop := among.work(ctx, min(othersAtWork, b.many-1))
	err = measure(fmt.Sprintf("the same among %d, while %d others save and ask once a second each (both share the processors)", b.many, othersAtWork))
	if failed := stop(); err == nil {
		err = failed
	}
	if err != nil {
		return err
	}
	return among.memory(ctx, min(b.many, 1000))
}

// site is the pages of a database of outfits, for people who are signed in.
type site struct {
	store   *pg.Store
	handler http.Handler
}

func (b *bench) siteOf(ctx context.Context, database string, outfits, stints int) (*site, error) {
	store, err := b.manyOutfits(ctx, database, outfits, stints)
	if err != nil {
		return nil, err
	}
	handler, err := pagesOf(store)
	return &site{store, handler}, err
}

// pagesOf are the pages of all outfits in a store's database, behind the door of people.
func pagesOf(store *pg.Store) (http.Handler, error) {
	at, err := url.Parse("https://journal.example.org")
	if err != nil {
		return nil, err
	}
	people, err := door.NewPeople(store, at, func(*http.Request) netip.Addr { return netip.IPv4Unspecified() }, time.Now)
	if err != nil {
		return nil, err
	}
	server, err := web.New(store, web.Options{Door: people})
	if err != nil {
		return nil, err
	}
	return server.Handler(), nil
}

// visitor is the owner of one of the outfits.
type visitor struct {
	store   *pg.Store
	handler http.Handler
	cookie  string
	last    journal.Session
}

func (s *site) visitor(n int) *visitor {
	return &visitor{store: s.store.In(nthOutfit(n), journal.Keeper()), handler: s.handler, cookie: "__Host-rigtally=" + nthSecret(n)}
}

// outfitSteps are what an outfit does, in the order of visitor.steps.
var outfitSteps = []string{"saved by the store", "saved over HTTP", "facts read anew", "rates, facts kept", "page Today", "page of tag length, made anew", "page of tag length, kept"}

func (v *visitor) steps(ctx context.Context) []func() error {
	ask := rates(byJunction, asFished)
	return []func() error{
		func() error { return saveAgain(ctx, v.store, v.last) },
		func() error { return v.put(ctx, again(v.last)) },
		func() error {
			v.store.KeepFacts(1 << 30) // drops what is kept
			_, err := v.store.Facts(ctx)
			return err
		},
		func() error { _, err := ask(ctx, v.store); return err },
		func() error { return v.get(ctx, "/") },
		func() error { return v.get(ctx, "/tag-length") },
		func() error { return v.get(ctx, "/tag-length") },
	}
}

func (v *visitor) get(ctx context.Context, address string) error {
	return v.do(httptest.NewRequestWithContext(ctx, http.MethodGet, "http://localhost"+address, nil))
}

func (v *visitor) put(ctx context.Context, s journal.Session) error {
	body, err := json.Marshal(journal.Draft{Session: s, Confirmed: true})
	if err != nil {
		return err
	}
	r := httptest.NewRequestWithContext(ctx, http.MethodPut, "http://localhost/api/sessions/"+s.ID.String(), bytes.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	return v.do(r)
}

func (v *visitor) do(r *http.Request) error {
	r.Header.Set("Cookie", v.cookie)
	w := httptest.NewRecorder()
	v.handler.ServeHTTP(w, r)
	if w.Code != http.StatusOK {
		return fmt.Errorf("%s %s answers %d: %s", r.Method, r.URL, w.Code, w.Body)
	}
	return nil
}

// work has other outfits save and ask once a second each, until stop is called.
func (s *site) work(ctx context.Context, others int) (stop func() error) {
	ctx, cancel := context.WithCancel(ctx)
	var work sync.WaitGroup
	var failed atomic.Pointer[error]
	for n := range others {
		work.Go(func() {
			v := s.visitor(n + 2)
			tick := time.NewTicker(time.Second)
			defer tick.Stop()
			var err error
			for v.last, err = v.store.LastSession(ctx); err == nil; {
				select {
				case <-tick.C:
				case <-ctx.Done():
					return
				}
				if err = v.put(ctx, again(v.last)); err == nil {
					err = v.get(ctx, "/tag-length")
				}
			}
			if ctx.Err() == nil {
				failed.Store(&err)
			}
		})
	}
	return func() error {
		cancel()
		work.Wait()
		if err := failed.Load(); err != nil {
			return *err
		}
		return nil
	}
}

// memory tells how much of it the facts of outfits take, and the rooms of those who ask for a page.
func (s *site) memory(ctx context.Context, outfits int) error {
	held := func() float64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc)
	}
	s.store.KeepFacts(1 << 30)
	before := held()
	for n := range outfits {
		if _, err := s.visitor(n + 1).store.Facts(ctx); err != nil {
			return err
		}
	}
	facts := held()
	for n := range outfits {
		if err := s.visitor(n+1).get(ctx, "/"); err != nil {
			return err
		}
	}
	fmt.Printf("\nmemory of the program, of %d outfits\n  facts     %.0f bytes an outfit\n  rooms     %.0f bytes an outfit, of those kept and without pages that were worked out\n",
		outfits, (facts-before)/float64(outfits), (held()-facts)/float64(outfits))
	return nil
}

// sizeOf tells what a database takes on disk.
func (b *bench) sizeOf(ctx context.Context, database string, stints int) error {
	conn, err := pgx.Connect(ctx, b.server.URL(database))
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var all, tables string
	err = conn.QueryRow(ctx, `SELECT format('%s, %s bytes a stint', pg_size_pretty(pg_database_size(current_database())), pg_database_size(current_database()) / $1::bigint),
		string_agg(format('%s %s + %s', relname, pg_table_size(oid) / $1, pg_indexes_size(oid) / $1), ', ' ORDER BY pg_total_relation_size(oid) DESC)
		FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace AND pg_total_relation_size(oid) > 5 * $1`, stints).Scan(&all, &tables)
	if err == nil {
		fmt.Printf("(on disk %s; tables + indexes: %s)\n", all, tables)
	}
	return err
}
