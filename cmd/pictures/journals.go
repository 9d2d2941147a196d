package main

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"os"
	"slices"
	"time"

	"rigtally/analytics/caution"
	"rigtally/internal/pgserver"
	"rigtally/journal"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
	"rigtally/web"
)

// shown is a journal whose pages are served.
type shown struct {
	name, url string
	cautious  string // address of the session that calls for most cautions, if one does
}

// many is as many sessions as a busy outfit has after some ten years.
const many = 3000

// fills put something into a journal, by the journal's name.
var fills = map[string]func(context.Context, *pg.Store) error{
	"empty": func(context.Context, *pg.Store) error { return nil },
	"one":   oneSession,
	"demo":  func(ctx context.Context, store *pg.Store) error { return invented(ctx, store, demo.Sessions) },
	"many":  func(ctx context.Context, store *pg.Store) error { return invented(ctx, store, many) },
}

// invented loads the demo's seasons, of so many sessions, with its trial.
func invented(ctx context.Context, store *pg.Store, sessions int) error {
	_, err := demo.Fill(ctx, store, demo.Generate(demo.Seed, sessions))
	return err
}

// openJournals serves the journals of the names in a throw-away database.
func openJournals(ctx context.Context, names []string) (list []shown, end func(), err error) {
	server, err := pgserver.Temporary(ctx, pgserver.Config{})
	if err != nil {
		return nil, nil, err
	}
	ctx, cancel := context.WithCancel(ctx)
	var ended []<-chan struct{}
	end = func() {
		cancel()
		for _, e := range ended {
			<-e
		}
		release, stop := context.WithTimeout(context.WithoutCancel(ctx), 30*time.Second)
		defer stop()
		if err := server.Release(release); err != nil {
			fmt.Fprintln(os.Stderr, "pictures: stop the database:", err)
		}
	}
	for _, name := range names {
		j, done, err := serve(ctx, server, name)
		if err != nil {
			end()
			return nil, nil, fmt.Errorf("journal %q: %w", name, err)
		}
		list, ended = append(list, j), append(ended, done)
	}
	return list, end, nil
}

func serve(ctx context.Context, server *pgserver.Server, name string) (s shown, ended <-chan struct{}, err error) {
	fill, ok := fills[name]
	if !ok {
		return s, nil, fmt.Errorf("there is none of that name; choose of empty, one, demo, many")
	}
	if err := server.EnsureDatabase(ctx, name); err != nil {
		return s, nil, err
	}
	store, err := pg.MigrateAndOpen(ctx, server.URL(name))
	if err != nil {
		return s, nil, err
	}
	defer func() {
		if err != nil {
			store.Close()
		}
	}()
	if err := fill(ctx, store); err != nil {
		return s, nil, err
	}
	warned, err := mostCautions(ctx, store)
	if err != nil {
		return s, nil, err
	}
	pages, err := web.New(store, web.Options{Logger: slog.New(slog.NewTextHandler(os.Stderr, nil)), Now: dayOf(ctx, store)})
	if err != nil {
		return s, nil, err
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return s, nil, err
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		defer store.Close()
		if err := pages.Serve(ctx, l); err != nil {
			fmt.Fprintln(os.Stderr, "pictures:", err)
		}
	}()
	return shown{name, "http://" + l.Addr().String() + "/", warned}, done, nil
}

// mostCautions returns the address of the session that calls for most cautions, without a slash before it.
func mostCautions(ctx context.Context, store *pg.Store) (string, error) {
	c, err := store.Contents(ctx)
	if err != nil {
		return "", err
	}
	most, address := 0, ""
	for _, s := range c.Sessions {
		if n := len(caution.Of(s)); n > most {
			most, address = n, "sessions/"+s.ID.String()
		}
	}
	return address, nil
}

// dayOf is a clock that stands in the evening of the last session's day, so that
// Today has something to tell and pictures of one program are alike.
func dayOf(ctx context.Context, store *pg.Store) func() time.Time {
	last := journal.Date{Year: 2026, Month: time.June, Day: 20}
	lines, _, err := store.SessionLines(ctx, journal.SessionFilter{Limit: 1})
	if err == nil && len(lines) > 0 {
		last = lines[0].Day
	}
	return func() time.Time { return last.In(time.UTC).Add(20 * time.Hour) }
}

// oneSession takes the session of the demo's seasons that shows most, with what it needs.
func oneSession(ctx context.Context, store *pg.Store) error {
	season := demo.Generate(demo.Seed, demo.Sessions)
	best := slices.MaxFunc(season.Sessions, func(a, b journal.Session) int { return tells(a) - tells(b) })
	season.Sessions = []journal.Session{best}
	return demo.Load(ctx, store, season)
}

func tells(s journal.Session) int {
	n := 0
	for _, st := range s.Stints {
		n += 5 + len(st.Events)
	}
	return n
}
