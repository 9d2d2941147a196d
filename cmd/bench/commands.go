package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5"

	"rigtally/internal/pgserver"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

const (
	commandSessions = 2_060 // some 5,000 stints
	commandMost     = 90 * time.Millisecond
)

// timedOne is one timing.
type timedOne = time.Duration

// bare is the least SQL that says tangles and hours by junction.
const bare = `SELECT p.junction, count(*), sum(c.tangles), sum(c.seconds) / 3600.0
	FROM stint_position c JOIN rig_position p USING (outfit_id, rig_id, position)
	WHERE p.hang = 'tag' AND c.seconds IS NOT NULL GROUP BY p.junction`

// answers times an answer by junction over at least 100,000 stints, from the
// stored rows to the printed text, against the bare SQL aggregate.
func (b *bench) answers(ctx context.Context) error {
	stints, err := b.invent(ctx, large, largeStints)
	if err != nil {
		return err
	}
	store, err := b.open(ctx, large)
	if err != nil {
		return err
	}
	defer store.Close()
	conn, err := pgx.Connect(ctx, b.server.URL(large))
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	var ours, theirs timed
	ask := rates(byJunction)
	for range answerRounds {
		d, err := clock(func() error { _, err := ask(ctx, store); return err })
		if err != nil {
			return err
		}
		ours = append(ours, d)
		d, err = clock(func() error {
			rows, err := conn.Query(ctx, bare)
			if err != nil {
				return err
			}
			_, err = pgx.CollectRows(rows, pgx.RowToMap)
			return err
		})
		if err != nil {
			return err
		}
		theirs = append(theirs, d)
	}
	compare(fmt.Sprintf("tangles by junction over %d stints, with intervals, comparisons and what was left out", stints), ours, "the bare SQL sum, without any of that", theirs)
	return nil
}

// commands times a whole rigtally process that starts and stops its server,
// on an existing journal of a demo season, against psql on a server that runs.
func (b *bench) commands(ctx context.Context) error {
	dataDir := filepath.Join(b.dir, "journal")
	url, started, err := b.season(ctx, dataDir)
	if err != nil {
		return err
	}
	var ours, theirs timed
	for range commandRounds {
		d, err := clock(func() error {
			out, err := exec.Command(b.program, "rates", "tangles", "--by", "junction", "--data-dir", dataDir).CombinedOutput()
			if err != nil {
				return fmt.Errorf("%w: %s", err, out)
			}
			return nil
		})
		if err != nil {
			return err
		}
		ours = append(ours, d)
	}
	server, err := pgserver.Acquire(ctx, pgserver.Config{DataDir: dataDir, Local: []string{".postgres"}})
	if err != nil {
		return err
	}
	defer server.Release(ctx)
	for range commandRounds {
		d, err := clock(func() error { return b.command(url(server), "-c", bare) })
		if err != nil {
			return err
		}
		theirs = append(theirs, d)
	}
	compare(fmt.Sprintf("rigtally rates tangles --by junction among some %d stints, the whole process, its server started and stopped", smallStints), ours, "psql -c with the bare SQL sum, on a server that runs", theirs)
	fmt.Printf("  of which the server's start took %s\n  aim       %s in all; %s\n", round(started), commandMost, metOrMissed(ours.median() <= commandMost))
	return nil
}

// season puts a demo season into a data folder as the program keeps it, and
// returns how long its server takes to start.
func (b *bench) season(ctx context.Context, dataDir string) (url func(*pgserver.Server) string, started time.Duration, err error) {
	const database = "rigtally" // as the program names it
	url = func(s *pgserver.Server) string { return s.URL(database) }
	for i := range 2 { // the second start finds a journal, as the command does
		server, err := pgserver.Acquire(ctx, pgserver.Config{DataDir: dataDir, Local: []string{".postgres"}})
		if err != nil {
			return nil, 0, err
		}
		started = server.StartedIn()
		if i == 0 {
			if err := fill(ctx, server, database); err != nil {
				return nil, 0, errors.Join(err, server.Release(ctx))
			}
		}
		if err := server.Release(ctx); err != nil {
			return nil, 0, err
		}
	}
	return url, started, nil
}

func fill(ctx context.Context, server *pgserver.Server, database string) error {
	if err := server.EnsureDatabase(ctx, database); err != nil {
		return err
	}
	store, err := pg.MigrateAndOpen(ctx, server.URL(database))
	if err != nil {
		return err
	}
	defer store.Close()
	return demo.Load(ctx, store, demo.Generate(1, commandSessions))
}

func (b *bench) runPsql(database string, args ...string) (timedOne, error) {
	return clock(func() error { return b.command(b.server.URL(database), args...) })
}

// command runs psql, which must take every statement.
func (b *bench) command(url string, args ...string) error {
	cmd := exec.Command(b.psql, append([]string{"-X", "-q", "-v", "ON_ERROR_STOP=1", url}, args...)...)
	out, err := cmd.CombinedOutput()
	if err != nil {
		return fmt.Errorf("psql: %w: %s", err, out)
	}
	return nil
}

// findPsql looks for the client on the PATH and where `make postgres` puts it.
func findPsql() (string, error) {
	if path, err := exec.LookPath("psql"); err == nil {
		return path, nil
	}
	const local = ".postgres/bin/psql"
	if _, err := os.Stat(local); err == nil {
		return filepath.Abs(local)
	}
	return "", errors.New("psql, the alternative to compare with, is not on the PATH; install the PostgreSQL client")
}
