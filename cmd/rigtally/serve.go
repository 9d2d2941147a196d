package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"rigtally/cmd/rigtally/command"
	"rigtally/web"
	"rigtally/web/door"
	"rigtally/web/watch"
	"syscall"
	"time"

	"github.com/spf13/cobra"
)

const (
	portsTried = 20
	answerBy   = 30 * time.Second
)

func serveCommand(p *command.Program) *cobra.Command {
	var open bool
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Serve the journal's pages, on this machine or to others",
		Long: `Serve the journal's pages until Ctrl-C. Without further flags only programs on this
machine can reach them, and only a browser that has opened the address printed is let
in. That address is good once; Enter, or rigtally open, prints another.

Others are let in, each with a sign-in of their own, in one of three ways:
--address with a certificate got by ACME, --address with --certificate and --key
or with --behind-proxy, and --local-network. With --address alone you agree to
the terms of the certificate authority: Let's Encrypt, or the one whose ACME
directory the setting acme_directory names. acme_root names a file with the
certificate to trust that directory by, acme_email where the authority may write
to. docs/server.md has each way step by step.`,
		Example: "  rigtally serve\n  rigtally serve --port 8080 --open\n  rigtally serve --address https://journal.example.org\n  rigtally serve --local-network",
		Args:    command.None,
		RunE: p.Do(func(ctx context.Context, _ []string) error {
			if p.Settings.Reach.Beyond() {
				return serveOthers(ctx, p, open && !p.Settings.NoBrowser)
			}
			ring, err := openRing(p)
			if err != nil {
				return err
			}
			dir, err := doorFolder(p)
			if err != nil {
				return err
			}
			at, err := openPorts(p, dir)
			if err != nil {
				return err
			}
			defer closeAll(at)
			if err := noteAddress(p, pagesAt(at[0])); err != nil {
				return err
			}
			cfg := p.Server()
			cfg.Restart = true // the pages stay when their database does not
			return p.OpenIn(ctx, cfg, func(ctx context.Context, j command.Journal) error {
				defer j.Backups.Hourly(ctx)()
				return watched(ctx, p, j, func(w *watch.Watch) error {
					return servePages(ctx, p, j, at, ring, w, open && !p.Settings.NoBrowser)
				})
			})
		}),
	}
	command.AddPortFlag(cmd.Flags())
	command.AddReachFlags(cmd.Flags())
	command.AddWatchFlag(cmd.Flags())
	cmd.Flags().BoolVar(&open, "open", false, "open the pages in a browser")
	return cmd
}

// listen opens the port of the settings on this machine's own address. The
// usual port gives way to the next free one; one that was asked for does not.
func listen(p *command.Program) (net.Listener, error) {
	if port := p.Settings.Port; port != command.AnyPort {
		l, err := listenAt(port)
		switch {
		case errors.Is(err, syscall.EADDRINUSE):
			return nil, fmt.Errorf("port %d is in use by another program; choose another with --port, or 0 for any free one", port)
		case errors.Is(err, syscall.EACCES):
			return nil, fmt.Errorf("port %d is reserved for the system; choose one above 1023 with --port, or 0 for any free one", port)
		case err != nil:
			return nil, fmt.Errorf("open port %d: %w", port, err)
		}
		return l, nil
	}
	for port := command.FirstPort; port < command.FirstPort+portsTried; port++ {
		if l, err := listenAt(port); err == nil {
			return l, nil
		}
	}
	l, err := listenAt(0)
	if err != nil {
		return nil, fmt.Errorf("open a port: %w", err)
	}
	return l, nil
}

// pagesAt is where the pages are that a listener serves.
func pagesAt(l net.Listener) string { return "http://" + l.Addr().String() }

// servePages serves the journal's pages until ctx ends, to whoever has a key of the ring. It prints the address of
// one, at the first listener, once the pages really answer there.
func servePages(ctx context.Context, p *command.Program, j command.Journal, at []net.Listener, ring door.Ring, w *watch.Watch, open bool) error {
	alone := door.NewAlone(j.OutfitID(), j.Who(), ring)
	log := logger(p, slog.LevelWarn)
	keeper, err := p.Gauges(j.Store, log)
	if err != nil {
		return err
	}
	server, err := web.New(j.Store, web.Options{Logger: log, Now: p.Now, Door: alone, Gauges: keeper, Words: p.Settings.Words, Trouble: j.Trouble,
		BeforeImport: j.Backups.BeforeImport, LastBackup: lastBackup(j), Watch: w, LogRequests: p.Settings.LogRequests})
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	ended := make(chan error, 1)
	go func() { ended <- server.ServeAt(ctx, at) }()
	address := ""
	if err = answers(ctx, pagesAt(at[0])); err == nil {
		address, err = newAddress(ring, pagesAt(at[0]))
	}
	if err != nil {
		cancel()
		return errors.Join(err, <-ended)
	}
	p.Printf("rigtally is ready at %s\n", address)
	tend := tending{keeper: keeper}
	tend.begin(ctx)
	defer tend.end()
	if open {
		openAddress(p, address)
	}
	if p.Asks {
		p.Note("The address lets one browser in, once. Press Enter for another.")
		go atEnter(p, ring, pagesAt(at[0]))
	}
	return <-ended
}

// answers waits until pages are served, if only to refuse who has no key. The end of ctx meanwhile is no failure.
func answers(ctx context.Context, address string) error {
	within, cancel := context.WithTimeout(ctx, answerBy)
	defer cancel()
	var last error
	for within.Err() == nil {
		status, err := get(within, address)
		if err == nil && status == http.StatusUnauthorized {
			return nil
		}
		if last = err; err == nil {
			return fmt.Errorf("the first page fails with status %d; its cause is above", status)
		}
		time.Sleep(5 * time.Millisecond)
	}
	if ctx.Err() != nil {
		return nil
	}
	return fmt.Errorf("the pages do not answer: %w", last)
}

func get(ctx context.Context, address string) (status int, err error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return 0, err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return 0, err
	}
	return response.StatusCode, response.Body.Close()
}
