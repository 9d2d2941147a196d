package pg

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgtype"

	"rigtally/journal"
)

// table keeps values of T, a row each: in columns of its own for whose they are, and in one
// for each field of T, called as in its JSON. So a field of T needs but a column.
type table[T any] struct {
	name      string
	keys      []string // written before those of T
	columns   []column[T]
	after     []string // written after those of T
	nullWords bool     // words that are empty are kept as null
}

// column is a column of a table and the field kept in it.
type column[T any] struct {
	field, name string
	at          func(*T) any // a pointer to the field, or to what stands for it
	word        bool
}

// tableOf makes a table of a struct. Columns that name a field take the place of its own;
// lists of structs are kept in tables of their own.
func tableOf[T any](name, keys string, instead ...column[T]) table[T] {
	t := table[T]{name: name, keys: strings.Split(keys, ", ")}
	of := reflect.TypeFor[T]()
	for i := range of.NumField() {
		key, _, _ := strings.Cut(of.Field(i).Tag.Get("json"), ",")
		own := len(t.columns)
		for _, c := range instead {
			if c.field == key {
				t.columns = append(t.columns, c)
			}
		}
		kind := of.Field(i).Type.Kind()
		list := (kind == reflect.Slice || kind == reflect.Array) && of.Field(i).Type.Elem().Kind() == reflect.Struct
		if len(t.columns) == own && !list {
			t.columns = append(t.columns, column[T]{key, key, func(v *T) any { return reflect.ValueOf(v).Elem().Field(i).Addr().Interface() }, kind == reflect.String})
		}
	}
	return t
}

// with adds columns that are no fields.
func (t table[T]) with(names []string) table[T] {
	t.after = names
	return t
}

// emptyAsNull keeps words that say nothing as null.
func (t table[T]) emptyAsNull() table[T] {
	t.nullWords = true
	return t
}

// names lists all columns.
func (t table[T]) names() []string {
	names := slices.Clone(t.keys)
	for _, c := range t.columns {
		names = append(names, c.name)
	}
	return append(names, t.after...)
}

// row is what is written of a value, after whose it is, in the order of names. A version that
// was not counted yet is the first.
func (t table[T]) row(v *T, keys ...any) []any {
	row := append(make([]any, 0, len(t.keys)+len(t.columns)+len(t.after)), keys...)
	for _, c := range t.columns {
		switch field := reflect.ValueOf(c.at(v)).Elem(); {
		case t.nullWords && c.word && field.Len() == 0:
			row = append(row, nil)
		case field.Kind() == reflect.Slice && field.IsNil():
			row = append(row, reflect.MakeSlice(field.Type(), 0, 0).Interface()) // nil would be null
		case c.name == "version":
			row = append(row, max(1, int(field.Int())))
		default:
			row = append(row, field.Interface())
		}
	}
	return row
}

// list is the columns of T in a query of the table under an alias.
func (t table[T]) list(alias string) string {
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = alias + "." + c.name
		if t.nullWords && c.word {
			names[i] = "coalesce(" + names[i] + ", '')"
		}
	}
	return strings.Join(names, ", ")
}

// insert is the statement that writes a row.
func (t table[T]) insert() string {
	return insertInto(t.name, t.names())
}

func insertInto(table string, columns []string) string {
	return "INSERT INTO " + table + " (" + strings.Join(columns, ", ") + ") VALUES (" + places(1, len(columns)) + ")"
}

// upsert is insert, in the place of the row with the same id. What takes the place of another
// is a later version of it.
func (t table[T]) upsert(id string) string {
	var set []string
	for _, name := range t.names() {
		switch {
		case name == "version":
			set = append(set, fmt.Sprintf("version = greatest(excluded.version, %s.version + 1)", t.name))
		case !slices.Contains(strings.Split(id, ", "), name):
			set = append(set, name+" = excluded."+name)
		}
	}
	return t.insert() + " ON CONFLICT (" + id + ") DO UPDATE SET " + strings.Join(set, ", ")
}

// querier is a pool or a transaction.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

// each runs take on every row of a query, whose columns stand in into by then.
func each(ctx context.Context, from querier, into []any, take func(), sql string, args ...any) error {
	rows, _ := from.Query(ctx, sql, args...) // whose error is that of the rows
	_, err := pgx.ForEachRow(rows, into, func() error {
		take()
		return nil
	})
	return err
}

// listOf reads the rows of a query.
func listOf[T any](ctx context.Context, from querier, row pgx.RowToFunc[T], sql string, args ...any) ([]T, error) {
	rows, _ := from.Query(ctx, sql, args...)
	return pgx.CollectRows(rows, row)
}

// each reads rows of the columns of list, behind those of more.
func (t table[T]) each(ctx context.Context, from querier, more []any, f func(T), sql string, args ...any) error {
	var v T
	into := slices.Clone(more)
	for _, c := range t.columns {
		into = append(into, c.at(&v))
	}
	return each(ctx, from, into, func() { f(v) }, sql, args...)
}

// of reads the values of an outfit that a condition chooses, in the order that it ends with; its
// arguments are $2 and so on.
func (t table[T]) of(ctx context.Context, from querier, outfit journal.ID, which string, args ...any) (list []T, err error) {
	err = t.each(ctx, from, nil, func(v T) { list = append(list, v) },
		"SELECT "+t.list("t")+" FROM "+t.name+" t WHERE t.outfit_id = $1 AND "+which, append([]any{outfit}, args...)...)
	return list, err
}

// places are so many parameters of a statement, from the given number on.
func places(from, n int) string {
	list := make([]string, n)
	for i := range list {
		list[i] = fmt.Sprintf("$%d", from+i)
	}
	return strings.Join(list, ", ")
}

// learnTypes teaches a connection the journal's ids and days, which know nothing of it.
func learnTypes(_ context.Context, conn *pgx.Conn) error {
	m := conn.TypeMap()
	m.TryWrapEncodePlanFuncs = append([]pgtype.TryWrapEncodePlanFunc{encodeOwn}, m.TryWrapEncodePlanFuncs...)
	m.TryWrapScanPlanFuncs = append([]pgtype.TryWrapScanPlanFunc{scanOwn}, m.TryWrapScanPlanFuncs...)
	return nil
}

// wireID is an id as the driver knows one.
type wireID journal.ID

// UUIDValue hands the id to the driver.
func (id wireID) UUIDValue() (pgtype.UUID, error) { return pgtype.UUID{Bytes: id, Valid: true}, nil }

// ScanUUID takes the id from the driver.
func (id *wireID) ScanUUID(v pgtype.UUID) error {
	if !v.Valid {
		return errors.New("cannot scan NULL into an id")
	}
	*id = v.Bytes
	return nil
}

// wireDate is a day as the driver knows one.
type wireDate journal.Date

// DateValue hands the day to the driver.
func (d wireDate) DateValue() (pgtype.Date, error) {
	return pgtype.Date{Time: journal.Date(d).In(time.UTC), Valid: true}, nil
}

// ScanDate takes the day from the driver.
func (d *wireDate) ScanDate(v pgtype.Date) error {
	if !v.Valid {
		return errors.New("cannot scan NULL into a day")
	}
	*d = wireDate(journal.DateOf(v.Time))
	return nil
}

// ownEncode and ownScan put a value into its driver's form on the way.
type (
	ownEncode struct{ next pgtype.EncodePlan }
	ownScan   struct{ next pgtype.ScanPlan }
)

func (p *ownEncode) SetNext(next pgtype.EncodePlan) { p.next = next }

func (p *ownScan) SetNext(next pgtype.ScanPlan) { p.next = next }

func (p *ownEncode) Encode(value any, buf []byte) ([]byte, error) {
	return p.next.Encode(inWire(value), buf)
}

func (p *ownScan) Scan(src []byte, target any) error { return p.next.Scan(src, inWire(target)) }

// inWire is a value of the journal's as the driver knows it, nil for any other.
func inWire(value any) any {
	switch v := value.(type) {
	case journal.ID:
		return wireID(v)
	case journal.Date:
		return wireDate(v)
	case *journal.ID:
		return (*wireID)(v)
	case *journal.Date:
		return (*wireDate)(v)
	}
	return nil
}

func encodeOwn(value any) (pgtype.WrappedEncodePlanNextSetter, any, bool) {
	switch value.(type) {
	case journal.ID, journal.Date:
		return &ownEncode{}, inWire(value), true
	}
	return nil, nil, false
}

func scanOwn(target any) (pgtype.WrappedScanPlanNextSetter, any, bool) {
	switch target.(type) {
	case *journal.ID, *journal.Date:
		return &ownScan{}, inWire(target), true
	}
	return nil, nil, false
}

// seconds keeps a stint's time, which people know in minutes.
type seconds struct{ of *journal.Stint }

// Int64Value hands the time to the driver.
func (t seconds) Int64Value() (pgtype.Int8, error) {
	s := t.of.Seconds()
	if s == nil {
		return pgtype.Int8{}, nil
	}
	return pgtype.Int8{Int64: int64(*s), Valid: true}, nil
}

// ScanInt64 takes the time from the driver.
func (t *seconds) ScanInt64(v pgtype.Int8) error {
	if t.of.Minutes = nil; v.Valid {
		t.of.Minutes = journal.MinutesOf(new(int(v.Int64)))
	}
	return nil
}

// recordedBits keeps a set of kinds in the bits of a small integer.
type recordedBits journal.Recorded

// Int64Value hands the bits to the driver.
func (r recordedBits) Int64Value() (pgtype.Int8, error) {
	return pgtype.Int8{Int64: int64(int16(r)), Valid: true}, nil
}

// ScanInt64 takes the bits from the driver.
func (r *recordedBits) ScanInt64(v pgtype.Int8) error {
	*r = recordedBits(v.Int64)
	return nil
}

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
	if err := rows.Err(); err != nil { // of a batch that broke off: such rows have no fields
		return err
	}
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

// array is the next column, one without nulls whose elements have a width in bytes, in the form of PostgreSQL's array_send:
// dimensions, whether there are nulls, the type; length and first index of each dimension; each element with its length.
func (w *wire) array(width int, expect func(n int), put func(raw []byte)) {
	raw, oid := w.take()
	const head, each = 12, 4
	if len(raw) < head {
		w.fail(oid, raw)
		return
	}
	if binary.BigEndian.Uint32(raw) == 0 { // none
		return
	}
	n := int(binary.BigEndian.Uint32(raw[head:]))
	elements := raw[head+8:]
	if len(elements) != n*(each+width) {
		w.fail(oid, raw)
		return
	}
	expect(n)
	for ; n > 0; n-- {
		put(elements[each : each+width])
		elements = elements[each+width:]
	}
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
