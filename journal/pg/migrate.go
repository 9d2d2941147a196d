package pg

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"

	"rigtally/migrations"
)

// Migrate brings the tables of a database up to date, one process at a time.
func Migrate(ctx context.Context, url string) error {
	cfg, err := pgx.ParseConfig(url)
	if err != nil {
		return fmt.Errorf("read the database address: %w", err)
	}
	db := stdlib.OpenDB(*cfg)
	defer db.Close()
	// goose waits for its lock in steps of seconds, so look first whether
	// there is anything to do at all.
	locker, err := lock.NewPostgresSessionLocker(lock.WithLockTimeout(1, 60))
	if err != nil {
		return fmt.Errorf("prepare the migration lock: %w", err)
	}
	p, err := goose.NewProvider(goose.DialectPostgres, db, migrations.Files, goose.WithSessionLocker(locker))
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	current, target, err := p.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("read the version of the journal's tables: %w", err)
	}
	if current > target {
		return errNewerTables(current, target)
	}
	if current == target {
		return nil
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bring the journal's tables up to date: %w", err)
	}
	return nil
}

// checkTables compares the tables' version with that of the program.
func (s *Store) checkTables(ctx context.Context) error {
	latest, err := migrations.Latest()
	if err != nil {
		return err
	}
	var current int64
	err = s.pool.QueryRow(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied`).Scan(&current)
	var pg *pgconn.PgError
	const undefinedTable = "42P01"
	switch {
	case errors.As(err, &pg) && pg.Code == undefinedTable:
		return ErrOldTables
	case err != nil:
		return fmt.Errorf("read the version of the journal's tables: %w", err)
	case current < latest:
		return ErrOldTables
	case current > latest:
		return errNewerTables(current, latest)
	}
	return nil
}

func errNewerTables(current, known int64) error {
	return fmt.Errorf("this journal was last used by a newer rigtally (tables of version %d, this program knows %d); use the newer program", current, known)
}
