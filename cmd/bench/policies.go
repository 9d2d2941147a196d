package main

import (
	"context"
	"fmt"

	"rigtally/journal"
	"rigtally/journal/pg"
)

const (
	opened         = "large_open" // large again, with its policies off
	policyWarm     = 10
	policyRounds   = 60
	clientSessions = 60
	policyMost     = 1.2 // times as long as without
)

// policies times rates and saves with row-level security against the same without it: the same program, roles and
// statements in a journal whose tables ask no policy. For an owner, and for a client of each journal.
func (b *bench) policies(ctx context.Context) error {
	var owners, clients [2]*pg.Store
	for i, database := range []string{large, opened} {
		if _, err := b.invent(ctx, database, largeStints); err != nil {
			return err
		}
		if database == opened {
			if err := b.psql(b.server.URL(database), "-c", `DO $$ DECLARE t record; BEGIN FOR t IN SELECT relname FROM pg_class WHERE relrowsecurity LOOP EXECUTE format('ALTER TABLE %I DISABLE ROW LEVEL SECURITY', t.relname); END LOOP; END $$`); err != nil {
				return err
			}
		}
		if err := b.psql(b.server.URL(database), "-c", "VACUUM ANALYZE", "-c", "CHECKPOINT"); err != nil {
			return err
		}
		store, err := b.open(ctx, database)
		if err != nil {
			return err
		}
		defer store.Close()
		store.KeepFacts(1) // so that rates read the rows each time
		owners[i] = store
		if clients[i], err = aClient(ctx, store); err != nil {
			return err
		}
	}
	for _, who := range []struct {
		name   string
		stores [2]*pg.Store
	}{{"an owner", owners}, {fmt.Sprintf("a client, who sees %d sessions", clientSessions), clients}} {
		if err := b.policiesFor(ctx, who.name, who.stores); err != nil {
			return err
		}
	}
	return nil
}

// aClient makes a client of a few seasons.
func aClient(ctx context.Context, store *pg.Store) (*pg.Store, error) {
	last, err := store.LastSession(ctx)
	if err != nil {
		return nil, err
	}
	a, err := store.AnglerNamed(ctx, "An invented client")
	if err != nil {
		return nil, err
	}
	last.AnglerID, last.GuideID = a.ID, nil // whom a client does not see
	for range clientSessions {
		if err := saveAgain(ctx, store, last); err != nil {
			return nil, err
		}
	}
	return store.For(journal.Who{Role: journal.RoleClient, Name: a.Name, Angler: &a.ID}), nil
}

func (b *bench) policiesFor(ctx context.Context, who string, stores [2]*pg.Store) error {
	var steps []func() error
	for _, store := range stores {
		last, err := store.LastSession(ctx)
		if err != nil {
			return err
		}
		var fresh journal.Session
		save := func() error { return save(ctx, store, fresh) }
		steps = append(steps,
			func() error { fresh = again(last); return save() },
			save,
			func() error { fresh.Version, fresh.Notes = 1, "changed"; return save() },
			func() error { _, err := store.LastSession(ctx); return err },
			func() error { _, err := store.SessionByID(ctx, fresh.ID); return err },
			func() error { return store.DeleteSession(ctx, fresh.ID, 2) })
	}
	times, err := inTurn(policyWarm, policyRounds, steps...)
	if err != nil {
		return fmt.Errorf("as %s: %w", who, err)
	}
	fmt.Printf("\na session among %d stints as %s, with policies, and without in a journal that asks none\n", largeStints, who)
	line := func(what string, with, without timed) {
		ratio := with.median().Seconds() / without.median().Seconds()
		fmt.Printf("  %-28s %s; %s: %.2f times as long; aim %.1f: %s\n", what, with, without, ratio, policyMost, metOrMissed(ratio <= policyMost))
	}
	for i, step := range saveSteps {
		line(step, times[i], times[len(saveSteps)+i])
	}
	if stores[0].Who().IsClient() {
		return nil // without policies a client's question would be one of everybody's sessions
	}
	ask := rates(byJunction, asFished)
	asked, err := inTurn(1, answerRounds, func() error { _, err := ask(ctx, stores[0]); return err }, func() error { _, err := ask(ctx, stores[1]); return err })
	if err != nil {
		return fmt.Errorf("as %s: %w", who, err)
	}
	line("rates, every row read", asked[0], asked[1])
	return nil
}
