package command

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/inquiry"
	"rigtally/internal/pgserver"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/journal/pg/link"
)

// DatabaseName is the database of a journal in a server of its own.
const DatabaseName = "rigtally"

// Journal is an open journal.
type Journal struct {
	*pg.Store
	Units units.System // in which to speak of it
	Prior float64      // of its best bets

	Backups *Backups     // nil: none are made by themselves
	Trouble func() error // why its own server is away; nil where it has none
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
		at := place{keeper: cmp.Or(p.Settings.MigrateURL, p.Settings.DatabaseURL), url: p.Settings.DatabaseURL, mayWait: cfg.Restart}
		return unreachable(p.useStore(ctx, at, use))
	}
	return p.InServer(ctx, cfg, func(ctx context.Context, server *pgserver.Server) error {
		backups, err := p.backupsOf(server)
		if err != nil {
			return err
		}
		at := placeIn(server)
		at.backups = backups
		return p.useStore(ctx, at, use)
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
		return p.useStore(ctx, placeIn(server), use)
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
		return ofFullDisk(err)
	}
	return ofFullDisk(use(ctx, server))
}

// ofFullDisk puts into a sentence that a running PostgreSQL can't take one connection more, having no room for what it
// notes at its start.
func ofFullDisk(err error) error {
	var refused *pgconn.PgError
	if errors.As(err, &refused) && refused.Severity == "FATAL" && strings.Contains(refused.Message, "could not write init file") {
		return &journal.Hindered{Says: "the disk that holds the journal is full; make room on it, then do this again", Cause: err}
	}
	return err
}

// place is where a journal is.
type place struct {
	keeper, url string       // addresses: for who owns the tables, and for the program
	mayWait     bool         // for its database, where that can't be reached, as while a cluster chooses its primary
	backups     *Backups     // nil: none are made
	trouble     func() error // why its own server is away; nil where it has none
}

func placeIn(server *pgserver.Server) place {
	return place{keeper: server.KeeperURL(DatabaseName), url: server.ProgramURL(DatabaseName), trouble: server.Trouble}
}

// startWithin is how long a program that is to stay waits for its database at its start.
const startWithin = 2 * time.Minute

// openStore opens the journal at a place, after its keeper has brought its tables up to date.
func (p *Program) openStore(ctx context.Context, at place) (*pg.Store, error) {
	store, err := pg.Open(ctx, at.url)
	if at.mayWait && link.Lost(err) {
		p.Note("rigtally: the database does not answer yet; waiting for it for two minutes")
		for end := time.Now().Add(startWithin); link.Lost(err) && time.Now().Before(end) && ctx.Err() == nil; {
			select {
			case <-ctx.Done():
			case <-time.After(time.Second):
				store, err = pg.Open(ctx, at.url)
			}
		}
	}
	if !errors.Is(err, pg.ErrOldTables) {
		return store, err
	}
	if err := at.backups.beforeMigration(ctx); err != nil {
		return nil, err
	}
	return pg.MigrateAndOpen(ctx, at.keeper, at.url)
}

// useStore has the journal at a place used. What was written to it then is in the backup of the day.
func (p *Program) useStore(ctx context.Context, at place, use use) error {
	if p.Settings.Connections > 0 {
		at.url = pg.WithConnections(at.url, p.Settings.Connections)
	}
	store, err := p.openStore(ctx, at)
	if err != nil {
		return err
	}
	defer store.Close()
	if at.backups != nil {
		at.backups.journal = store.OutfitID()
	}
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
	j.Backups, j.Trouble = at.backups, at.trouble
	before, err := store.Revision(ctx)
	if err != nil {
		return err
	}
	err = use(ctx, j)
	if after, failed := store.Revision(ctx); failed == nil && after != before {
		at.backups.OfTheDay(ctx)
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
	config := failed.Config
	at := fmt.Sprintf("%s, port %d,", config.Host, config.Port)
	switch hosts := link.Hosts(config); {
	case errors.As(err, &refused):
		why = errors.New(refused.Message)
	case len(hosts) > 1:
		at, why = strings.Join(hosts, ", "), errors.New("none of them answers as one that takes writes; see which is the primary, start one")
	}
	return fmt.Errorf("the PostgreSQL at %s cannot be used as user %q with database %q: %w, or correct the setting database_url (--database-url)",
		at, config.User, config.Database, why)
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
