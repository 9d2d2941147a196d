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

// The codes are those of PostgreSQL's appendix A: admin_shutdown, crash_shutdown, cannot_connect_now; query_canceled,
// unique_violation.
func TestUnavailable(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		err  error
		want bool
	}{
		{stateError("57P01"), true},
		{stateError("57P02"), true},
		{stateError("57P03"), true},
		{&net.OpError{Op: "dial", Net: "unix", Err: syscall.ECONNREFUSED}, true},
		{&net.OpError{Op: "write", Net: "unix", Err: syscall.EPIPE}, true},
		{io.ErrUnexpectedEOF, true},
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
