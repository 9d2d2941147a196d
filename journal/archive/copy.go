package archive

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"io"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
)

// Sum is what a table holds, told in a few bytes.
type Sum struct {
	Table string
	Rows  int64
	Hash  Hash // of what Dump writes
}

// View runs f on one unchanging view of a journal, in which nothing can be written.
func View(ctx context.Context, conn *pgx.Conn, f func(pgx.Tx) error) error {
	return pgx.BeginTxFunc(ctx, conn, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, f)
}

// Dump writes the rows of a table in the order of its key, as PostgreSQL's COPY writes them as text: equal tables
// give equal bytes, whatever the settings and version of the server. A server that would hide rows is an error. A
// line is a row.
func Dump(ctx context.Context, tx pgx.Tx, t Table, w io.Writer) (rows int64, err error) {
	return dump(ctx, tx, t, list(t.Columns), w)
}

// dump is Dump of expressions in place of the columns.
func dump(ctx context.Context, tx pgx.Tx, t Table, what string, w io.Writer) (rows int64, err error) {
	if err := settle(ctx, tx); err != nil {
		return 0, err
	}
	tag, err := tx.Conn().PgConn().CopyTo(ctx, w, "COPY (SELECT "+what+" FROM "+t.quoted()+" ORDER BY "+t.order()+") TO STDOUT")
	return tag.RowsAffected(), explain("read the table "+t.Name, err)
}

// Fingerprints are the sums of all tables of a journal, in their order.
func Fingerprints(ctx context.Context, tx pgx.Tx) ([]Sum, error) {
	tables, err := Tables(ctx, tx.Conn())
	if err != nil {
		return nil, err
	}
	sums := make([]Sum, len(tables))
	for i, t := range tables {
		to := newSummer(io.Discard, func(int64) {})
		if _, err := Dump(ctx, tx, t, to); err != nil {
			return nil, err
		}
		sums[i] = to.sum(t)
	}
	return sums, nil
}

// Unequal says in sentences how the tables of a copy differ from what they were copied from; nothing where they don't.
func Unequal(from, to []Sum) []string {
	var all []string
	for _, a := range from {
		i := slices.IndexFunc(to, func(b Sum) bool { return b.Table == a.Table })
		switch {
		case i < 0:
			all = append(all, fmt.Sprintf("the table %s is missing", a.Table))
		case to[i].Rows != a.Rows:
			all = append(all, fmt.Sprintf("the table %s has %d rows, not %d", a.Table, to[i].Rows, a.Rows))
		case to[i].Hash != a.Hash:
			all = append(all, fmt.Sprintf("the table %s holds something else", a.Table))
		}
	}
	for _, b := range to {
		if !slices.ContainsFunc(from, func(a Sum) bool { return a.Table == b.Table }) {
			all = append(all, fmt.Sprintf("there is a table %s that was not", b.Table))
		}
	}
	return all
}

// Load reads what Dump has written into a table of a journal that Fill has opened.
func Load(ctx context.Context, tx pgx.Tx, t Table, r io.Reader) (rows int64, err error) {
	if err := settle(ctx, tx); err != nil {
		return 0, err
	}
	tag, err := tx.Conn().PgConn().CopyFrom(ctx, r, "COPY "+t.quoted()+" ("+list(t.Columns)+") FROM STDIN")
	return tag.RowsAffected(), explain("fill the table "+t.Name, err)
}

// Fill runs f, which loads the tables of an empty journal, in one transaction: either all is there afterwards, or
// nothing. Meanwhile triggers, policies and foreign keys are off, since rows come as they were and not in an order in
// which they could have been written. In the end PostgreSQL makes the foreign keys anew and so looks at every row:
// what refers to a row that is missing is an error, as are checks and keys that a row breaks. conn is of a superuser
// or of who owns the tables.
func Fill(ctx context.Context, conn *pgx.Conn, f func(pgx.Tx, []Table) error) error {
	tables, err := Tables(ctx, conn)
	if err != nil {
		return err
	}
	err = pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		restore, err := open(ctx, tx, tables)
		if err != nil {
			return err
		}
		if err := f(tx, tables); err != nil {
			return err
		}
		for _, sql := range restore {
			if _, err := tx.Exec(ctx, sql); err != nil {
				return explain("check what was filled in", err)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, t := range tables {
		if _, err := conn.Exec(ctx, "ANALYZE "+t.quoted()); err != nil {
			return explain("gather statistics of the tables", err)
		}
	}
	return nil
}

// open makes tables ready to be filled, and returns the statements that end that.
func open(ctx context.Context, tx pgx.Tx, tables []Table) (restore []string, err error) {
	if err := settle(ctx, tx); err != nil {
		return nil, err
	}
	do := func(sql string) error {
		_, err := tx.Exec(ctx, sql)
		return explain("open the tables", err)
	}
	var drop, shut []string
	for _, t := range tables {
		if err := do("ALTER TABLE " + t.quoted() + " DISABLE TRIGGER USER, NO FORCE ROW LEVEL SECURITY"); err != nil {
			return nil, err
		}
		shut = append(shut, "ALTER TABLE "+t.quoted()+" ENABLE TRIGGER USER"+t.forced())
		var filled bool
		if err := tx.QueryRow(ctx, "SELECT EXISTS (SELECT FROM "+t.quoted()+")").Scan(&filled); err != nil {
			return nil, explain("look at the table "+t.Name, err)
		}
		if filled {
			return nil, fmt.Errorf("the table %s to fill is not empty", t.Name)
		}
		rows, _ := tx.Query(ctx, `SELECT quote_ident(conname), pg_get_constraintdef(oid) FROM pg_constraint WHERE contype = 'f' AND conrelid = $1::text::regclass ORDER BY conname`, t.quoted())
		var name, definition string
		if _, err := pgx.ForEachRow(rows, []any{&name, &definition}, func() error {
			drop = append(drop, "ALTER TABLE "+t.quoted()+" DROP CONSTRAINT "+name)
			restore = append(restore, "ALTER TABLE "+t.quoted()+" ADD CONSTRAINT "+name+" "+definition)
			return nil
		}); err != nil {
			return nil, explain("read the foreign keys of the table "+t.Name, err)
		}
	}
	for _, sql := range drop {
		if err := do(sql); err != nil {
			return nil, err
		}
	}
	return append(restore, shut...), nil
}

// Copy fills an empty journal with all that another of the same tables holds, as it is at one moment, and returns the
// sums of what it read. progress is told, now and then, how many rows of which table have come across. from is of a
// superuser, to as for Fill.
func Copy(ctx context.Context, from, to *pgx.Conn, progress func(table string, rows int64)) (sums []Sum, err error) {
	if err := sameCatalogue(ctx, from, to); err != nil {
		return nil, err
	}
	err = View(ctx, from, func(source pgx.Tx) error {
		tables, err := Tables(ctx, from)
		if err != nil {
			return err
		}
		return Fill(ctx, to, func(target pgx.Tx, empty []Table) error {
			if !slices.EqualFunc(tables, empty, Table.like) {
				return errors.New("the tables to copy and those to fill are not the same")
			}
			for _, t := range tables {
				sum, err := copyTable(ctx, source, target, t, progress)
				if err != nil {
					return err
				}
				sums = append(sums, sum)
			}
			return nil
		})
	})
	return sums, err
}

// Compare reads a copy anew, and is an error unless each of its tables holds what Copy read, and what holds them
// together is the same. Both connections are of superusers.
func Compare(ctx context.Context, from, to *pgx.Conn, read []Sum) error {
	err := View(ctx, to, func(tx pgx.Tx) error {
		there, err := Fingerprints(ctx, tx)
		if err != nil {
			return err
		}
		if different := Unequal(read, there); len(different) > 0 {
			return fmt.Errorf("the copy is not what was copied: %s", strings.Join(different, "; "))
		}
		return nil
	})
	if err != nil {
		return err
	}
	return sameCatalogue(ctx, from, to)
}

// mostDifferences is how many are told of two catalogues.
const mostDifferences = 6

func sameCatalogue(ctx context.Context, from, to *pgx.Conn) error {
	before, err := Catalogue(ctx, from)
	if err != nil {
		return err
	}
	after, err := Catalogue(ctx, to)
	if err != nil {
		return err
	}
	if different := Differences(before, after); len(different) > 0 {
		return fmt.Errorf("the journal's tables are not as this program makes them, and a copy would not be the same: %s",
			strings.Join(different[:min(len(different), mostDifferences)], "; "))
	}
	return nil
}

func copyTable(ctx context.Context, source, target pgx.Tx, t Table, progress func(string, int64)) (Sum, error) {
	r, w := io.Pipe()
	read := newSummer(w, func(rows int64) { progress(t.Name, rows) })
	done := make(chan error)
	go func() {
		_, err := Dump(ctx, source, t, read)
		w.CloseWithError(err) // the other end then fails with it too
		done <- err
	}()
	_, err := Load(ctx, target, t, r)
	r.CloseWithError(err)
	if failed := <-done; failed != nil {
		err = failed
	}
	return read.sum(t), err
}

// settings make every server write and read values alike.
const settings = `SELECT set_config(name, value, true) FROM (VALUES ('client_encoding', 'UTF8'), ('search_path', 'public'), ('TimeZone', 'UTC'),
	('DateStyle', 'ISO, YMD'), ('IntervalStyle', 'postgres'), ('extra_float_digits', '1'), ('bytea_output', 'hex'), ('row_security', 'off')) AS s (name, value)`

// settle has the transaction write and read values as every server does, and refuse to leave out rows.
func settle(ctx context.Context, tx pgx.Tx) error {
	_, err := tx.Exec(ctx, settings)
	return explain("prepare to copy tables", err)
}

func (t Table) quoted() string { return pgx.Identifier{"public", t.Name}.Sanitize() }

// order sorts rows alike on every server, whatever its collation.
func (t Table) order() string {
	parts := make([]string, len(t.Key))
	for i, c := range t.Key {
		parts[i] = pgx.Identifier{c.Name}.Sanitize()
		if c.Text {
			parts[i] += ` COLLATE "C"`
		}
	}
	return strings.Join(parts, ", ")
}

func (t Table) forced() string {
	if t.policies {
		return ", FORCE ROW LEVEL SECURITY"
	}
	return ""
}

// like reports whether rows of one table can be loaded into another.
func (t Table) like(other Table) bool {
	return t.Name == other.Name && slices.Equal(slices.Sorted(slices.Values(t.Columns)), slices.Sorted(slices.Values(other.Columns)))
}

func list(columns []string) string {
	quoted := make([]string, len(columns))
	for i, name := range columns {
		quoted[i] = pgx.Identifier{name}.Sanitize()
	}
	return strings.Join(quoted, ", ")
}

// summer sums up what is written through it.
type summer struct {
	to   io.Writer
	rows int64
	hash hash.Hash
	told func(rows int64)
}

func newSummer(to io.Writer, told func(rows int64)) *summer {
	return &summer{to: to, hash: sha256.New(), told: told}
}

func (s *summer) Write(p []byte) (int, error) {
	s.hash.Write(p)
	s.rows += int64(bytes.Count(p, []byte("\n")))
	s.told(s.rows)
	return s.to.Write(p)
}

func (s *summer) sum(t Table) Sum {
	return Sum{Table: t.Name, Rows: s.rows, Hash: [sha256.Size]byte(s.hash.Sum(nil))}
}
