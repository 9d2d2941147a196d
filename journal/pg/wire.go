package pg

import (
	"encoding/binary"
	"fmt"
	"math"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgtype"

	"rigtally/journal"
)

// wire reads the columns of one row, one after the other, from their binary
// form, since scanning a million rows takes as long as fetching them.
type wire struct {
	fields []pgconn.FieldDescription
	values [][]byte
	next   int
	err    error
}

// eachRow reads rows to their end and closes them.
func eachRow(rows pgx.Rows, f func(*wire)) error {
	defer rows.Close()
	in := &wire{fields: rows.FieldDescriptions()}
	for rows.Next() && in.err == nil {
		in.values, in.next = rows.RawValues(), 0
		f(in)
	}
	if in.err != nil {
		return in.err
	}
	return rows.Err()
}

func (w *wire) take() ([]byte, uint32) {
	i := w.next
	w.next++
	return w.values[i], w.fields[i].DataTypeOID
}

// id is the next column, a UUID.
func (w *wire) id() (id journal.ID) {
	raw, oid := w.take()
	if len(raw) != len(id) || oid != pgtype.UUIDOID {
		w.fail(oid, raw)
		return id
	}
	return journal.ID(raw)
}

// number is the next column, NaN for null.
func (w *wire) number() float64 {
	raw, oid := w.take()
	switch {
	case raw == nil:
		return math.NaN()
	case oid == pgtype.Int2OID && len(raw) == 2:
		return float64(int16(binary.BigEndian.Uint16(raw)))
	case oid == pgtype.Int4OID && len(raw) == 4:
		return float64(int32(binary.BigEndian.Uint32(raw)))
	case oid == pgtype.Int8OID && len(raw) == 8:
		return float64(int64(binary.BigEndian.Uint64(raw)))
	case oid == pgtype.Float8OID && len(raw) == 8:
		return math.Float64frombits(binary.BigEndian.Uint64(raw))
	}
	w.fail(oid, raw)
	return math.NaN()
}

// float is the next column, nil for null.
func (w *wire) float() *float64 {
	if v := w.number(); v == v {
		return &v
	}
	return nil
}

// text is the next column, "" for null. It is good until the next row.
func (w *wire) text() []byte {
	raw, _ := w.take()
	return raw
}

// counts are the next columns, some of a row's tallies; null is none.
func (w *wire) counts(which []journal.Count, into *journal.Counts) {
	for _, c := range which {
		if raw := w.values[w.next]; len(raw) == 2 && w.fields[w.next].DataTypeOID == pgtype.Int2OID { // nearly all of them
			into[c] = float64(int16(binary.BigEndian.Uint16(raw)))
			w.next++
		} else if raw == nil {
			into[c] = 0
			w.next++
		} else {
			into[c] = w.number()
		}
	}
}

func (w *wire) fail(oid uint32, raw []byte) {
	if w.err == nil {
		w.err = fmt.Errorf("column %d has %d bytes of the type %d, not of the one expected", w.next, len(raw), oid)
	}
}
