package main

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/web/watch"
)

// watched serves pages while others look on, if the settings say where.
func watched(ctx context.Context, p *command.Program, j command.Journal, serve func(*watch.Watch) error) error {
	if p.Settings.Watch == "" {
		return serve(nil)
	}
	l, err := watch.Listen(p.Settings.Watch)
	if err != nil {
		return terminal.Misusef("the setting watch: %w", err)
	}
	w := watch.New(j.Store)
	if j.Backups != nil {
		w.Backups(func() time.Time { at, _ := j.Backups.Last(); return at })
	}
	looking, end := context.WithCancel(context.WithoutCancel(ctx)) // for as long as requests under way take
	defer end()
	ended := make(chan error, 1)
	go func() { ended <- w.Serve(looking, l, logger(p, slog.LevelWarn)) }()
	p.Printf("Others on this machine look on at http://%s/readyz and /metrics\n", l.Addr())
	err = serve(w)
	end()
	return errors.Join(err, <-ended)
}

// lastBackup is what the pages tell of backups; nil where none are made by themselves.
func lastBackup(j command.Journal) func() (at time.Time, failed string) {
	if j.Backups == nil {
		return nil
	}
	return j.Backups.Last
}

// logger writes what is at least of a level to the terminal, and requests if that is asked for.
func logger(p *command.Program, level slog.Level) *slog.Logger {
	if p.Settings.LogRequests {
		level = slog.LevelInfo
	}
	options := &slog.HandlerOptions{Level: level}
	if p.Settings.LogJSON {
		return slog.New(slog.NewJSONHandler(p.Err, options))
	}
	return slog.New(slog.NewTextHandler(p.Err, options))
}
