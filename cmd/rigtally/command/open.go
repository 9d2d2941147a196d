package command

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/inquiry"
	"rigtally/internal/pgserver"
	"rigtally/internal/units"
	"rigtally/journal/pg"
)

// DatabaseName is the database of a journal in a server of its own.
const DatabaseName = "rigtally"

// Journal is an open journal.
type Journal struct {
	*pg.Store
	Units units.System // in which to speak of it
	Prior float64      // of its best bets

	Backups *Backups // nil: none are made by themselves
}

// Asking is who asks at a terminal.
func (j Journal) Asking() inquiry.Asking {
	return inquiry.Asking{Source: j.Store, Units: j.Units, Prior: j.Prior}
}

// use is what is done with an open journal.
type use = func(context.Context, Journal) error

// Server says which private server the settings name.
func (p *Program) Server() pgserver.Config {
	return pgserver.Config{DataDir: p.Settings.DataDir, BinDir: p.Settings.BinDir, Log: p.Err}
}

// Open opens the journal that the settings name, hands it over, and closes it
// whatever happens. A private server that nobody else uses stops.
func (p *Program) Open(ctx context.Context, use use) error { return p.OpenIn(ctx, p.Server(), use) }

// OpenIn is Open for a private server with settings of its own.
func (p *Program) OpenIn(ctx context.Context, cfg pgserver.Config, use use) error {
	if p.Settings.DatabaseURL != "" {
		return unreachable(p.useStore(ctx, cmp.Or(p.Settings.MigrateURL, p.Settings.DatabaseURL), p.Settings.DatabaseURL, nil, use))
	}
	return p.InServer(ctx, cfg, func(ctx context.Context, server *pgserver.Server) error {
		backups, err := p.backupsOf(server)
		if err != nil {
			return err
		}
		return p.useStore(ctx, server.KeeperURL(DatabaseName), server.ProgramURL(DatabaseName), backups, use)
	})
}

// InServer has the private server used, with the journal's database in it, and releases it in the end.
func (p *Program) InServer(ctx context.Context, cfg pgserver.Config, use func(context.Context, *pgserver.Server) error) error {
	server, err := pgserver.Acquire(ctx, cfg)
	if err != nil {
		return err
	}
	return released(ctx, server, use)
}

// UseServer opens the journal in a private server, of which no backups are made, and releases both in the end.
func (p *Program) UseServer(ctx context.Context, server *pgserver.Server, use use) (err error) {
	return released(ctx, server, func(ctx context.Context, server *pgserver.Server) error {
		return p.useStore(ctx, server.KeeperURL(DatabaseName), server.ProgramURL(DatabaseName), nil, use)
	})
}

func released(ctx context.Context, server *pgserver.Server, use func(context.Context, *pgserver.Server) error) (err error) {
	defer func() {
		// An interrupt ends the work, not the cleaning up.
		if failed := server.Release(context.WithoutCancel(ctx)); failed != nil {
			err = errors.Join(err, fmt.Errorf("stop the journal's database: %w", failed))
		}
	}()
	if err := server.EnsureDatabase(ctx, DatabaseName); err != nil {
		return err
	}
	return use(ctx, server)
}

// openStore opens the journal at an address, after its keeper has brought its tables up to date.
func openStore(ctx context.Context, keeper, url string, backups *Backups) (*pg.Store, error) {
	store, err := pg.Open(ctx, url)
	if !errors.Is(err, pg.ErrOldTables) {
		return store, err
	}
	if err := backups.beforeMigration(ctx); err != nil {
		return nil, err
	}
	return pg.MigrateAndOpen(ctx, keeper, url)
}

// useStore has the journal at an address used. What was written to it then is in the backup of the day.
func (p *Program) useStore(ctx context.Context, keeper, url string, backups *Backups, use use) error {
	store, err := openStore(ctx, keeper, url, backups)
	if err != nil {
		return err
	}
	defer store.Close()
	if p.Settings.Outfit != "" {
		if store, err = store.OutfitNamed(ctx, p.Settings.Outfit); err != nil {
			return err
		}
	}
	if p.Settings.FactsBytes > 0 {
		store.KeepFacts(p.Settings.FactsBytes)
	}
	j, err := p.JournalOf(ctx, store)
	if err != nil {
		return err
	}
	j.Backups = backups
	before, err := store.Revision(ctx)
	if err != nil {
		return err
	}
	err = use(ctx, j)
	if after, failed := store.Revision(ctx); failed == nil && after != before {
		backups.OfTheDay(ctx)
	}
	return err
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

// JournalOf says how to speak of a journal: by its outfit, unless the settings name other units.
func (p *Program) JournalOf(ctx context.Context, store *pg.Store) (Journal, error) {
	outfit, err := store.Outfit(ctx)
	if err != nil {
		return Journal{}, err
	}
	j := Journal{Store: store, Units: p.Settings.Units, Prior: outfit.Prior()}
	if j.Units == "" {
		j.Units, err = units.ParseSystem(outfit.Units)
	}
	return j, err
}
