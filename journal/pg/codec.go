package pg

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"rigtally/journal"
)

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
