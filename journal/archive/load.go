package archive

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// Server is a PostgreSQL in which databases may be made.
type Server interface {
	EnsureDatabase(ctx context.Context, name string) error
	URL(database string) string        // for a superuser
	KeeperURL(database string) string  // for who owns its tables
	ProgramURL(database string) string // for the program
}

// ScratchPrefix begins the names of databases in which backups are tried.
const ScratchPrefix = "rigtally_scratch_"

const dropWithin = time.Minute

// InScratch makes an empty database, has it used, and drops it, whatever happens. What killed runs have left of theirs
// is dropped first.
func InScratch(ctx context.Context, server Server, use func(ctx context.Context, database string) error) (err error) {
	admin, err := pgx.Connect(ctx, server.URL("postgres"))
	if err != nil {
		return fmt.Errorf("connect to make a scratch database: %w", err)
	}
	defer admin.Close(context.WithoutCancel(ctx))
	name := ScratchPrefix + strings.ToLower(rand.Text()[:10])
	if err := dropLeft(ctx, admin); err != nil {
		return err
	}
	if _, err := claim(ctx, admin, name); err != nil {
		return err
	}
	defer func() {
		within, cancel := context.WithTimeout(context.WithoutCancel(ctx), dropWithin)
		defer cancel()
		if _, failed := admin.Exec(within, "DROP DATABASE IF EXISTS "+name+" WITH (FORCE)"); failed != nil {
			err = errors.Join(err, fmt.Errorf("drop the scratch database: %w; whoever tries a backup next drops it", failed))
		}
	}()
	if err := server.EnsureDatabase(ctx, name); err != nil {
		return err
	}
	return use(ctx, name)
}

// claim makes a scratch database this connection's, unless it is another's.
func claim(ctx context.Context, admin *pgx.Conn, name string) (ours bool, err error) {
	err = admin.QueryRow(ctx, `SELECT pg_try_advisory_lock(hashtext($1), hashtext($2))`, ScratchPrefix, name).Scan(&ours)
	return ours, explain("look whose scratch database it is", err)
}

// dropLeft drops scratch databases that are nobody's any more.
func dropLeft(ctx context.Context, admin *pgx.Conn) error {
	rows, _ := admin.Query(ctx, `SELECT datname FROM pg_database WHERE starts_with(datname, $1)`, ScratchPrefix)
	left, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return explain("look for scratch databases", err)
	}
	for _, name := range left {
		ours, err := claim(ctx, admin, name)
		if err != nil {
			return err
		}
		if !ours {
			continue
		}
		if _, err := admin.Exec(ctx, "DROP DATABASE IF EXISTS "+pgx.Identifier{name}.Sanitize()+" WITH (FORCE)"); err != nil {
			return explain("drop a scratch database that was left", err)
		}
	}
	return nil
}

const inUse = "55006" // object_in_use: somebody is connected to it

func isCode(err error, code string) bool {
	var refused *pgconn.PgError
	return errors.As(err, &refused) && refused.Code == code
}

// Proof is what a backup was found to hold once it was restored.
type Proof struct {
	Written
	Recounted int // stints whose events were counted again
	Wrong     int // of those: stints whose counts are not those of their events; the journal had them so
}

// Restore restores a backup into an empty database, brings it up to date, and proves it: every byte against its sums, each
// table, read back, against what the backup says of it, sessions once the tables are those of this program, and the
// counts of stints against their events. progress, which may be nil, is told of rows. The passphrase is asked for
// where the backup is encrypted.
func Restore(ctx context.Context, server Server, database string, from io.Reader, passphrase Passphrase, progress func(rows int64)) (Proof, error) {
	var p Proof
	r, err := newReader(from, passphrase)
	if err != nil {
		return p, err
	}
	if err := Prepare(ctx, server.KeeperURL(database), server.ProgramURL(database), r.head.Schema); err != nil {
		return p, err
	}
	conn, err := pgx.Connect(ctx, server.URL(database))
	if err != nil {
		return p, fmt.Errorf("connect to the database to restore into: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var sums []Sum
	err = Fill(ctx, conn, func(tx pgx.Tx, tables []Table) (err error) {
		l := loader{reader: r, tx: tx, tables: tables, progress: progress}
		sums, err = l.load(ctx)
		return err
	})
	if err != nil {
		return p, err
	}
	p.Head, p.End, p.Hash = r.head, r.end, r.file.sum
	if unlike := Unequal(p.End.Tables, sums); len(unlike) > 0 {
		return p, fmt.Errorf("the rows of the backup are not those that it says: %s", strings.Join(unlike, "; "))
	}
	if err := View(ctx, conn, func(tx pgx.Tx) (err error) { sums, err = Fingerprints(ctx, tx); return err }); err != nil {
		return p, err
	}
	if unlike := Unequal(p.End.Tables, sums); len(unlike) > 0 {
		return p, fmt.Errorf("restored, the backup is not what it was made of: %s", strings.Join(unlike, "; "))
	}
	return p, p.upToDate(ctx, server, database, conn)
}

// upToDate brings what was restored up to date, and looks at it as the program does.
func (p *Proof) upToDate(ctx context.Context, server Server, database string, conn *pgx.Conn) error {
	if len(p.End.Outfits) == 0 {
		return nil // a journal that was never opened
	}
	store, err := pg.MigrateAndOpen(ctx, server.KeeperURL(database), server.ProgramURL(database))
	if err != nil {
		return fmt.Errorf("open what was restored: %w", err)
	}
	defer store.Close()
	var now []OutfitNumber
	if err := View(ctx, conn, func(tx pgx.Tx) (err error) { now, err = outfits(ctx, tx); return err }); err != nil {
		return err
	}
	if !slices.Equal(now, p.End.Outfits) {
		return errors.New("with the tables of this program the outfits have other numbers of sessions than the backup says")
	}
	for _, o := range p.End.Outfits {
		counted, err := store.In(o.ID, journal.Keeper()).Recount(ctx, false, nil)
		if err != nil {
			return err
		}
		p.Recounted, p.Wrong = p.Recounted+counted.Stints, p.Wrong+counted.Wrong
	}
	return nil
}

// loader fills tables from a backup.
type loader struct {
	reader   *reader
	tx       pgx.Tx
	tables   []Table
	progress func(rows int64)
	rows     int64
}

// load reads the whole backup, and returns the sums of what it has read.
func (l *loader) load(ctx context.Context) ([]Sum, error) {
	list, err := l.reader.next()
	if err != nil {
		return nil, err
	}
	var tables []Table
	if err := json.Unmarshal(list.data, &tables); err != nil {
		return nil, fmt.Errorf("read the list of tables of the backup: %w", err)
	}
	if !slices.EqualFunc(l.tables, tables, Table.like) {
		return nil, errors.New("the tables of the backup are not those of its version; it was made by another program")
	}
	summers := make([]*summer, len(tables))
	for i := range tables {
		summers[i] = newSummer(io.Discard, func(int64) {})
	}
	for {
		p, err := l.reader.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if err := l.part(ctx, tables, summers, p); err != nil {
			return nil, err
		}
	}
	sums := make([]Sum, len(tables))
	for i, t := range tables {
		sums[i] = summers[i].sum(t)
	}
	return sums, nil
}

// part brings in some rows of a table.
func (l *loader) part(ctx context.Context, tables []Table, summers []*summer, p part) error {
	line, text, _ := bytes.Cut(p.data, []byte("\n"))
	var head rowsHead
	if err := json.Unmarshal(line, &head); err != nil {
		return fmt.Errorf("read %s of the backup: %w", p.title, err)
	}
	i := slices.IndexFunc(tables, func(t Table) bool { return t.Name == head.Table })
	if i < 0 || head.First != summers[i].rows+1 {
		return fmt.Errorf("%s of the backup can't come here", p.title)
	}
	_, _ = summers[i].Write(text)
	n, err := Load(ctx, l.tx, tables[i], bytes.NewReader(text))
	if err != nil {
		return fmt.Errorf("%s of the backup: %w", p.title, err)
	}
	if n != head.Rows {
		return fmt.Errorf("%s of the backup holds %d rows", p.title, n)
	}
	if l.rows += n; l.progress != nil {
		l.progress(l.rows)
	}
	return nil
}

// Empty reports whether nothing was entered into a journal yet, by anybody: what a journal begins with is not counted.
func Empty(ctx context.Context, conn *pgx.Conn) (empty bool, err error) {
	version, err := Version(ctx, conn)
	if err != nil || version < stateKept {
		return version == 0, err // one of an earlier program was used
	}
	err = conn.QueryRow(ctx, `SELECT NOT EXISTS (SELECT FROM session) AND NOT EXISTS (SELECT FROM deleted_session) AND NOT EXISTS (SELECT FROM angler)
		AND NOT EXISTS (SELECT FROM water) AND NOT EXISTS (SELECT FROM rig) AND NOT EXISTS (SELECT FROM bench_pull) AND NOT EXISTS (SELECT FROM trial)
		AND NOT EXISTS (SELECT FROM person) AND (SELECT count(*) < 2 FROM outfit)`).Scan(&empty)
	return empty, explain("look whether the journal is empty", err)
}

// ErrInUse says that a journal can't be replaced while others have it open.
var ErrInUse = errors.New("another rigtally has the journal open; end it (rigtally serve, or a command that waits) and try again")

// ErrNotEmpty says that a journal can't be replaced since something is in it.
var ErrNotEmpty = errors.New("the journal is not empty")

// TakePlace gives a database that was restored the name of the journal, which must be empty and used by nobody, all at
// once; what bore the name before is dropped.
func TakePlace(ctx context.Context, server Server, restored, name string) error {
	admin, err := pgx.Connect(ctx, server.URL("postgres"))
	if err != nil {
		return fmt.Errorf("connect to put the restored journal in its place: %w", err)
	}
	defer admin.Close(context.WithoutCancel(ctx))
	former := restored + "_was"
	if _, err := claim(ctx, admin, former); err != nil {
		return err
	}
	swap := func(present, next string) error {
		// PostgreSQL waits 5 s for whoever still has one open, since one that has left is seen for a moment after.
		err := pgx.BeginFunc(ctx, admin, func(tx pgx.Tx) error {
			for _, names := range [][2]string{{name, present}, {next, name}} {
				if _, err := tx.Exec(ctx, "ALTER DATABASE "+pgx.Identifier{names[0]}.Sanitize()+" RENAME TO "+pgx.Identifier{names[1]}.Sanitize()); err != nil {
					return err
				}
			}
			return nil
		})
		if isCode(err, inUse) {
			return ErrInUse
		}
		return explain("put the restored journal in its place", err)
	}
	if err := swap(former, restored); err != nil {
		return err
	}
	// Looked at once nobody can write to it any more.
	empty, err := isEmpty(ctx, server.URL(former))
	if err != nil || !empty {
		if err == nil {
			err = ErrNotEmpty
		}
		return errors.Join(err, swap(restored, former))
	}
	if _, err := admin.Exec(ctx, "DROP DATABASE "+former+" WITH (FORCE)"); err != nil {
		return explain("drop the empty journal that was there before", err)
	}
	return nil
}

func isEmpty(ctx context.Context, url string) (bool, error) {
	conn, err := pgx.Connect(ctx, url)
	if err != nil {
		return false, fmt.Errorf("connect to the journal: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	return Empty(ctx, conn)
}
