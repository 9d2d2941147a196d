package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/internal/pgserver"
	"rigtally/internal/units"
	"rigtally/journal/pg"
)

const databaseName = "rigtally"

func (p *program) serverConfig() pgserver.Config {
	return pgserver.Config{DataDir: p.settings.DataDir, BinDir: p.settings.BinDir, Log: p.err}
}

// withJournal opens the journal that the settings name, hands it over, and
// closes it whatever happens. A private server that nobody else uses stops.
func (p *program) withJournal(ctx context.Context, use func(context.Context, *pg.Store) error) error {
	return p.withJournalIn(ctx, p.serverConfig(), use)
}

// withJournalIn is withJournal for a private server with settings of its own.
func (p *program) withJournalIn(ctx context.Context, cfg pgserver.Config, use func(context.Context, *pg.Store) error) error {
	if p.settings.DatabaseURL != "" {
		return unreachable(useStore(ctx, p.settings.DatabaseURL, p.settings.FactsBytes, use))
	}
	server, err := pgserver.Acquire(ctx, cfg)
	if err != nil {
		return err
	}
	return useServer(ctx, server, p.settings.FactsBytes, use)
}

// useServer opens the journal in a private server and releases both in the end.
func useServer(ctx context.Context, server *pgserver.Server, keep int, use func(context.Context, *pg.Store) error) (err error) {
	defer func() {
		// An interrupt ends the work, not the cleaning up.
		if failed := server.Release(context.WithoutCancel(ctx)); failed != nil {
			err = errors.Join(err, fmt.Errorf("stop the journal's database: %w", failed))
		}
	}()
	if err := server.EnsureDatabase(ctx, databaseName); err != nil {
		return err
	}
	return useStore(ctx, server.URL(databaseName), keep, use)
}

// useStore opens a journal, whose facts may take so much memory, 0 for the usual limit.
func useStore(ctx context.Context, url string, keep int, use func(context.Context, *pg.Store) error) error {
	store, err := pg.MigrateAndOpen(ctx, url)
	if err != nil {
		return err
	}
	defer store.Close()
	if keep > 0 {
		store.KeepFacts(keep)
	}
	return use(ctx, store)
}

// unreachable puts a failure to connect into a sentence, without the password.
func unreachable(err error) error {
	var failed *pgconn.ConnectError
	if !errors.As(err, &failed) {
		return err
	}
	why := errors.New("it does not answer; start it")
	var refused *pgconn.PgError
	if errors.As(err, &refused) {
		why = errors.New(refused.Message)
	}
	at := failed.Config
	return fmt.Errorf("the PostgreSQL at %s, port %d, cannot be used as user %q with database %q: %w, or correct the setting database_url (--database-url)",
		at.Host, at.Port, at.User, at.Database, why)
}

// unitsFor says in what units to speak of a journal.
func (p *program) unitsFor(ctx context.Context, store *pg.Store) (units.System, error) {
	if p.settings.Units != "" {
		return p.settings.Units, nil
	}
	outfit, err := store.Outfit(ctx)
	if err != nil {
		return "", err
	}
	return units.ParseSystem(outfit.Units)
}
