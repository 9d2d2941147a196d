package journal

import (
	"encoding/binary"
	"fmt"
	"math"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgtype"
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
func (w *wire) id() (id ID) {
	raw, oid := w.take()
	if len(raw) != len(id) || oid != pgtype.UUIDOID {
		w.fail(oid, raw)
		return id
	}
	return ID(raw)
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

// truth is the next column, false for null.
func (w *wire) truth() bool {
	raw, oid := w.take()
	if len(raw) > 1 || oid != pgtype.BoolOID {
		w.fail(oid, raw)
	}
	return len(raw) == 1 && raw[0] == 1
}

func (w *wire) fail(oid uint32, raw []byte) {
	if w.err == nil {
		w.err = fmt.Errorf("column %d has %d bytes of the type %d, not of the one expected", w.next, len(raw), oid)
	}
}

func zeroIfNull(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// coder numbers the levels of a factor as they occur.
type coder struct {
	by      By
	words   map[string]int32
	numbers map[float64]int32
	levels  []Level
}

// code is the number of the level in the next column, unknown for null.
func (c *coder) code(in *wire) int32 {
	if c.by.Factor.Quantity == Words {
		raw, _ := in.take()
		if raw == nil {
			return unknown
		}
		n, ok := c.words[string(raw)]
		if !ok {
			n = c.add(c.by.level(string(raw), 0))
			c.words[string(raw)] = n
		}
		return n
	}
	v := in.number()
	if math.IsNaN(v) {
		return unknown
	}
	key := v
	if c.by.Edges != nil {
		key = float64(c.by.band(v))
	}
	n, ok := c.numbers[key]
	if !ok {
		n = c.add(c.by.level("", v))
		c.numbers[key] = n
	}
	return n
}

func (c *coder) add(l Level) int32 {
	c.levels = append(c.levels, l)
	return int32(len(c.levels) - 1)
}
