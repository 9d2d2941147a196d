package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"path/filepath"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/pgserver"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/reach"
	"rigtally/web/watch"
)

// serveOthers serves the pages to others in the way that the settings name, until ctx ends.
func serveOthers(ctx context.Context, p *command.Program, open bool) error {
	way := p.Settings.Reach
	if err := way.Check(); err != nil {
		return terminal.Misused(err)
	}
	switch port := p.Settings.Port; {
	case port == command.AnyPort || way.Listen != "":
	case len(way.Proxies) > 0:
		way.Listen = fmt.Sprintf("127.0.0.1:%d", port)
	case way.LocalNetwork:
		way.Listen = fmt.Sprintf(":%d", port)
	default:
		return terminal.Misusef("the pages are at the port of --address; leave the setting port out, or say with --listen where to listen instead, as in --listen :8443")
	}
	usual, err := pgserver.DefaultDataDir()
	if err != nil && p.Settings.DataDir == "" {
		return err
	}
	way.Dir = filepath.Join(cmp.Or(p.Settings.DataDir, usual), pgserver.Certificates)
	cfg := p.Server()
	cfg.Restart = true
	return p.OpenIn(ctx, cfg, func(ctx context.Context, j command.Journal) error {
		opened, err := reach.Open(ctx, way, func(ctx context.Context) error { return ownerCanSignIn(ctx, j.Store) }, logger(p, slog.LevelWarn))
		if err != nil {
			return err
		}
		defer opened.Close()
		defer j.Backups.Hourly(ctx)()
		people, err := peopleAt(j.Store, opened.Place, p.Now)
		if err != nil {
			return err
		}
		return watched(ctx, p, j, func(w *watch.Watch) error { return serveAt(ctx, p, j, opened, people, w, open) })
	})
}

// serveAt serves the pages in a way that is open.
func serveAt(ctx context.Context, p *command.Program, j command.Journal, opened *reach.Way, people *door.People, w *watch.Watch, open bool) error {
	log := logger(p, slog.LevelInfo)
	keeper, err := p.Gauges(j.Store, log)
	if err != nil {
		return err
	}
	server, err := web.New(j.Store, web.Options{Logger: log, Now: p.Now, Door: people, Gauges: keeper, Words: p.Settings.Words, Place: opened.Place, Address: opened.Place.Origin,
		BeforeImport: j.Backups.BeforeImport, LastBackup: lastBackup(j), Watch: w, LogRequests: p.Settings.LogRequests})
	if err != nil {
		return err
	}
	for _, line := range opened.Words {
		p.Printf("%s\n", line)
	}
	tend := tending{keeper: keeper}
	defer tend.end()
	return opened.Serve(ctx, server.Serve, func() {
		tend.begin(ctx)
		address := opened.Place.Origin + "/"
		p.Printf("rigtally is ready at %s\n", address)
		if !open {
			return
		}
		if err := p.OpenBrowser(address); err != nil {
			p.Note("rigtally: %v; open the address yourself", err)
		}
	})
}

// ownerCanSignIn says what to do before others are let in.
func ownerCanSignIn(ctx context.Context, store *pg.Store) error {
	can, err := store.OwnerCanSignIn(ctx)
	if err == nil && !can {
		err = errors.New("nobody is let in before the owner can sign in; make the owner's sign-in with \"rigtally people recover\" and start again")
	}
	return err
}

// peopleAt is the door of pages that others reach.
func peopleAt(store *pg.Store, at web.Place, now func() time.Time) (*door.People, error) {
	origin, err := url.Parse(at.Origin)
	if err != nil {
		return nil, fmt.Errorf("read the address of the pages: %w", err)
	}
	return door.NewPeople(store, origin, func(r *http.Request) netip.Addr {
		from, _ := at.Visitor(r)
		return from
	}, now)
}
