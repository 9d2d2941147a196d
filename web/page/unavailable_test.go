package page

import (
	"errors"
	"fmt"
	"io"
	"net"
	"syscall"
	"testing"

	"rigtally/journal"
)

// stateError is an error of PostgreSQL as every driver shows it.
type stateError string

func (e stateError) Error() string { return "ERROR " + string(e) }

func (e stateError) SQLState() string { return string(e) }

// unsentError is an error of a driver that sent nothing.
type unsentError bool

func (unsentError) Error() string { return "conn closed" }

func (e unsentError) SafeToRetry() bool { return bool(e) }

// The codes are those of PostgreSQL's appendix A: admin_shutdown, crash_shutdown, cannot_connect_now; query_canceled,
// unique_violation.
func TestUnavailable(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		err  error
		want bool
	}{
		{unsentError(true), true},
		{unsentError(false), false},
		{stateError("57P01"), true},
		{stateError("57P02"), true},
		{stateError("57P03"), true},
		{&net.OpError{Op: "dial", Net: "unix", Err: syscall.ECONNREFUSED}, true},
		{&net.OpError{Op: "write", Net: "unix", Err: syscall.EPIPE}, true},
		{io.ErrUnexpectedEOF, true},
		{&journal.Hindered{Says: "the disk is full", Cause: stateError("53100")}, true},
		{journal.ErrAway, true},
		{journal.ErrUnsure, true},
		{stateError("57014"), false},
		{stateError("23505"), false},
		{errors.New("a fault"), false},
	} {
		if got := Unavailable(fmt.Errorf("read the season: %w", c.err)); got != c.want {
			t.Errorf("%v: unavailable is %v", c.err, got)
		}
	}
}

// What hinders the database is said as it is, without its cause, which is for the log.
func TestWhyUnavailable(t *testing.T) {
	t.Parallel()
	full := fmt.Errorf("log a session: %w", &journal.Hindered{Says: "the disk is full; make room", Cause: stateError("53100")})
	if says := WhyUnavailable(full); says != "The disk is full; make room." {
		t.Errorf("%q", says)
	}
	if says := WhyUnavailable(io.ErrUnexpectedEOF); says != unavailableSays {
		t.Errorf("%q", says)
	}
}
