package link

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"reflect"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// The codes are those of PostgreSQL's appendix A.
func TestWhatIsLost(t *testing.T) {
	t.Parallel()
	refused := func(code string) error { return &pgconn.PgError{Code: code} }
	for _, c := range []struct {
		err  error
		want bool
	}{
		{nil, false},
		{errors.New("a fault"), false},
		{context.Canceled, false},
		{refused("23505"), false}, // unique_violation
		{refused("40001"), false}, // serialization_failure
		{refused("57014"), false}, // query_canceled
		{refused("57P01"), true},  // admin_shutdown
		{refused("57P03"), true},  // cannot_connect_now
		{refused("53300"), true},  // too_many_connections
		{refused("08P01"), true},  // protocol_violation, as poolers say that nobody answers
		{refused("25006"), true},  // read_only_sql_transaction
		{refused("0A000"), false}, // feature_not_supported
		{&pgconn.PgError{Code: "0A000", Routine: "check_transaction_read_only"}, true},
		{io.ErrUnexpectedEOF, true},
		{&net.OpError{Op: "read", Err: errSilent}, true},
		{ErrAlone, true},
		{ErrLate, true},
	} {
		err := c.err
		if err != nil {
			err = fmt.Errorf("save: %w", err)
		}
		if got := Lost(err); got != c.want {
			t.Errorf("%v: lost is %v", c.err, got)
		}
	}
}

func TestHosts(t *testing.T) {
	t.Parallel()
	config, err := Parse("postgres://app:secret@h1:5433,h2:5434,[fd00::3]:5435/journal?target_session_attrs=read-write&sslmode=prefer")
	if err != nil {
		t.Fatal(err)
	}
	if got, want := Hosts(&config.Config), []string{"h1:5433", "h2:5434", "[fd00::3]:5435"}; !reflect.DeepEqual(got, want) {
		t.Errorf("the hosts are %q, want %q", got, want)
	}
	if config.ConnectTimeout != connectWithin {
		t.Errorf("each is tried for %v", config.ConnectTimeout)
	}
}

// server takes connections and, while it answers, says a letter to each.
func server(t *testing.T) (address string, answering *atomic.Bool) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close() })
	answering = new(atomic.Bool)
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			t.Cleanup(func() { _ = conn.Close() })
			if answering.Load() {
				_, _ = conn.Write([]byte("N"))
			}
		}
	}()
	return l.Addr().String(), answering
}

// dial makes a connection that is attended, and reads the letter that a server says first.
func dial(t *testing.T, address string, silent func()) net.Conn {
	t.Helper()
	var config pgconn.Config
	attend(&config, silent)
	conn, err := config.DialFunc(t.Context(), "tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	if _, err := io.ReadFull(conn, make([]byte, 1)); err != nil {
		t.Fatal(err)
	}
	return conn
}

// Who waits for a server that answers nobody any more is told so, in an error that is no timeout, and is told the same at once from then on.
func TestASilentServerIsGivenUp(t *testing.T) {
	t.Parallel()
	address, answering := server(t)
	answering.Store(true)
	told := 0
	conn := dial(t, address, func() { told++ })
	answering.Store(false)
	start := time.Now()
	_, err := conn.Read(make([]byte, 1))
	var timeout net.Error
	if !errors.Is(err, errSilent) || !Lost(err) || errors.As(err, &timeout) && timeout.Timeout() {
		t.Errorf("after %v told %v", time.Since(start), err)
	}
	if _, err := conn.Read(make([]byte, 1)); !errors.Is(err, errSilent) || told != 1 {
		t.Errorf("then told %v, and %d times that it is silent", err, told)
	}
}

// Whoever waits for no longer than a time is let go then, while the server is at work and while it is silent.
func TestADeadlineHolds(t *testing.T) {
	t.Parallel()
	address, answering := server(t)
	answering.Store(true)
	conn := dial(t, address, func() { t.Error("it is not silent") })
	for _, wait := range []time.Duration{100 * time.Millisecond, quiet + 300*time.Millisecond} {
		start := time.Now()
		if err := conn.SetDeadline(start.Add(wait)); err != nil {
			t.Fatal(err)
		}
		_, err := conn.Read(make([]byte, 1))
		var timeout net.Error
		if took := time.Since(start); !errors.As(err, &timeout) || !timeout.Timeout() || took < wait {
			t.Errorf("after %v told %v", took, err)
		}
	}
}
