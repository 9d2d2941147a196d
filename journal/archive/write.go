package archive

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"rigtally/journal"
)

// listTitle is the title of the part that lists the tables.
const listTitle = "the list of tables"

// rowsHead begins a part that holds rows, on a line of its own.
type rowsHead struct {
	Table string `json:"table"`
	First int64  `json:"first"` // counted from 1
	Rows  int64  `json:"rows"`
}

func (h rowsHead) title() string {
	return fmt.Sprintf("table %s, rows %s–%s", h.Table, grouped(h.First), grouped(h.First+h.Rows-1))
}

// Written is a backup that was written.
type Written struct {
	Head Head
	End  End
	Hash Hash // of the whole file
}

// Write writes a backup of the journal that conn is connected to, as it is at one moment, while others go on writing.
// head says when, why and by which program; the rest is found out here. conn is of a superuser or of who may go round
// policies; others are refused. passphrase, unless "", encrypts it.
func Write(ctx context.Context, conn *pgx.Conn, to io.Writer, head Head, passphrase string) (w Written, err error) {
	return write(ctx, conn, to, head, sealedBy(passphrase, workFactor))
}

func write(ctx context.Context, conn *pgx.Conn, to io.Writer, head Head, seal seals) (w Written, err error) {
	err = View(ctx, conn, func(tx pgx.Tx) error {
		if err := settle(ctx, tx); err != nil {
			return err
		}
		tables, err := Tables(ctx, conn)
		if err != nil {
			return err
		}
		if head, err = describe(ctx, tx, head); err != nil {
			return err
		}
		out, err := newWriter(to, head, seal)
		if err != nil {
			return fmt.Errorf("write the backup: %w", err)
		}
		text, err := json.Marshal(tables)
		if err == nil {
			err = out.part(listTitle, text)
		}
		if err != nil {
			return fmt.Errorf("write the backup: %w", err)
		}
		for _, t := range tables {
			rows := newSummer(nil, func(int64) {})
			part := &rowsWriter{to: out, head: rowsHead{Table: t.Name, First: 1}}
			rows.to = part
			if _, err := dump(ctx, tx, t, sealed(t), rows); err != nil {
				return err
			}
			if err := part.flush(); err != nil {
				return fmt.Errorf("write the backup: %w", err)
			}
			w.End.Tables = append(w.End.Tables, rows.sum(t))
		}
		if w.End.Outfits, err = outfits(ctx, tx); err != nil {
			return err
		}
		if w.Hash, err = out.close(w.End); err != nil {
			return fmt.Errorf("write the backup: %w", err)
		}
		head.Format, head.Encrypted = format, seal != nil
		w.Head = head
		return nil
	})
	return w, err
}

// sealed is what is read of a table: all of it, but of trials that run not what their order is drawn from, which nobody
// may read while it matters. Brought back, such a trial ends at the part that was drawn.
func sealed(t Table) string {
	columns := list(t.Columns)
	if t.Name != "trial" || !slices.Contains(t.Columns, "order_cut") {
		return columns
	}
	var parts []string
	for _, c := range t.Columns {
		switch c {
		case "seed":
			parts = append(parts, `CASE WHEN ended_at IS NULL THEN '' ELSE seed END`)
		case "order_cut":
			parts = append(parts, `order_cut OR ended_at IS NULL`)
		default:
			parts = append(parts, pgx.Identifier{c}.Sanitize())
		}
	}
	return strings.Join(parts, ", ")
}

// describe fills in what a backup says of the journal as a whole.
func describe(ctx context.Context, tx pgx.Tx, head Head) (_ Head, err error) {
	if head.Schema, err = Version(ctx, tx.Conn()); err != nil {
		return head, err
	}
	err = tx.QueryRow(ctx, `SELECT current_setting('server_version_num')::int / 10000`).Scan(&head.PostgreSQL)
	if err == nil {
		err = tx.QueryRow(ctx, firstOutfit).Scan(&head.Journal)
	}
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return head, explain("read what journal it is", err)
	}
	head.State, err = state(ctx, tx, head.Schema)
	return head, err
}

// First is the outfit by which backups of one journal are known: the one that was made first.
func First(ctx context.Context, conn *pgx.Conn) (id journal.ID, err error) {
	err = conn.QueryRow(ctx, firstOutfit).Scan(&id)
	return id, explain("read what journal it is", err)
}

const firstOutfit = `SELECT id FROM outfit ORDER BY created_at, id LIMIT 1`

// stateKept is the migration since which all that state looks at is there.
const stateKept = 18

// State is a text that stays the same while nothing is written to the journal; it is the same before and after somebody
// comes in by the door. "" where it can't be told.
func State(ctx context.Context, conn *pgx.Conn) (text string, err error) {
	err = View(ctx, conn, func(tx pgx.Tx) error {
		if err := settle(ctx, tx); err != nil {
			return err
		}
		version, err := Version(ctx, conn)
		if err == nil {
			text, err = state(ctx, tx, version)
		}
		return err
	})
	return text, err
}

func state(ctx context.Context, tx pgx.Tx, version int64) (text string, err error) {
	if version < stateKept {
		return "", nil
	}
	err = tx.QueryRow(ctx, `SELECT md5(concat_ws(' ', $1::bigint,
		(SELECT string_agg(concat(id, revision), ',' ORDER BY id) FROM outfit),
		(SELECT string_agg(p::text, ',' ORDER BY id) FROM person p),
		(SELECT string_agg(concat(id, person_id, name), ',' ORDER BY id) FROM passkey),
		(SELECT string_agg(m::text, ',' ORDER BY outfit_id, person_id) FROM member m)))`, version).Scan(&text)
	return text, explain("ask whether the journal was written to", err)
}

func outfits(ctx context.Context, tx pgx.Tx) ([]OutfitNumber, error) {
	rows, _ := tx.Query(ctx, `SELECT id, name, (SELECT count(*) FROM session s WHERE s.outfit_id = o.id) FROM outfit o ORDER BY created_at, id`)
	list, err := pgx.CollectRows(rows, pgx.RowToStructByPos[OutfitNumber])
	return list, explain("count the sessions", err)
}

// rowsWriter cuts the rows of a table into parts.
type rowsWriter struct {
	to   *writer
	head rowsHead
	held []byte // rows, the last perhaps only begun
}

func (r *rowsWriter) Write(b []byte) (int, error) {
	r.held = append(r.held, b...)
	r.head.Rows += int64(bytes.Count(b, []byte("\n")))
	if len(r.held) < partSize || b[len(b)-1] != '\n' {
		return len(b), nil
	}
	return len(b), r.flush()
}

func (r *rowsWriter) flush() error {
	if r.head.Rows == 0 {
		return nil
	}
	head, err := json.Marshal(r.head)
	if err != nil {
		return err
	}
	err = r.to.part(r.head.title(), slices.Concat(head, []byte("\n"), r.held))
	r.head.First, r.head.Rows, r.held = r.head.First+r.head.Rows, 0, r.held[:0]
	return err
}
