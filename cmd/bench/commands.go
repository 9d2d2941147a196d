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
	ask := rates(byJunction, asFished)
	times, err := inTurn(0, answerRounds,
		func() error { _, err := ask(ctx, store); return err },
		func() error {
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
	compare(fmt.Sprintf("tangles by junction over %d stints, with intervals, comparisons and what was left out", stints), times[0], "the bare SQL sum, without any of that", times[1])
	return nil
}

// commands times a whole rigtally process that starts and stops its server,
// on an existing journal of a demo season, against psql on a server that runs.
func (b *bench) commands(ctx context.Context) error {
	cfg := b.privateServer(filepath.Join(b.dir, "journal"))
	started, err := b.season(ctx, cfg)
	if err != nil {
		return err
	}
	ours, err := inTurn(0, commandRounds, func() error {
		out, err := exec.Command(b.program, "rates", "tangles", "--by", "junction", "--data-dir", cfg.DataDir).CombinedOutput()
		if err != nil {
			return fmt.Errorf("%w: %s", err, out)
		}
		return nil
	})
	if err != nil {
		return err
	}
	server, err := pgserver.Acquire(ctx, cfg)
	if err != nil {
		return err
	}
	defer server.Release(ctx)
	theirs, err := inTurn(0, commandRounds, func() error { return b.psql(server.URL(programDatabase), "-c", bare) })
	if err != nil {
		return err
	}
	compare(fmt.Sprintf("rigtally rates tangles --by junction among some %d stints, the whole process, its server started and stopped", smallStints), ours[0], "psql -c with the bare SQL sum, on a server that runs", theirs[0])
	fmt.Printf("  of which the server's start took %s\n  aim       %s in all; %s\n", round(started), commandMost, metOrMissed(ours[0].median() <= commandMost))
	return nil
}

// programDatabase is the database that the program keeps a journal in.
const programDatabase = "rigtally"

// season puts a demo season into a data folder as the program keeps it, and
// returns how long its server takes to start.
func (b *bench) season(ctx context.Context, cfg pgserver.Config) (started time.Duration, err error) {
	for _, use := range []func(*pgserver.Server) error{
		func(server *pgserver.Server) error { return fill(ctx, server) },
		func(server *pgserver.Server) error { started = server.StartedIn(); return nil }, // which finds a journal, as the command does
	} {
		server, err := pgserver.Acquire(ctx, cfg)
		if err != nil {
			return 0, err
		}
		if err := errors.Join(use(server), server.Release(ctx)); err != nil {
			return 0, err
		}
	}
	return started, nil
}

func fill(ctx context.Context, server *pgserver.Server) error {
	if err := server.EnsureDatabase(ctx, programDatabase); err != nil {
		return err
	}
	store, err := pg.MigrateAndOpen(ctx, server.KeeperURL(programDatabase), server.ProgramURL(programDatabase))
	if err != nil {
		return err
	}
	defer store.Close()
	return demo.Load(ctx, store, demo.Generate(1, commandSessions))
}

// psql runs psql, which must take every statement.
func (b *bench) psql(url string, args ...string) error {
	cmd := exec.Command(b.client, append([]string{"-X", "-q", "-v", "ON_ERROR_STOP=1", url}, args...)...)
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
