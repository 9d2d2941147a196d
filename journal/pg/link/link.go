// Package link holds connections to a PostgreSQL that may break off, fall silent, or move to another machine.
package link

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/sethvargo/go-retry"
)

const (
	connectWithin = 3 * time.Second // to each host, where the address does not say connect_timeout
	patience      = 4 * time.Second // within which what broke off is begun again
)

// Parse reads an address of one host or several, whose connections end when their server falls silent.
func Parse(url string) (*pgx.ConnConfig, error) {
	config, err := pgx.ParseConfig(url)
	if err != nil {
		return nil, err
	}
	attend(&config.Config, func() {})
	return config, nil
}

// Pool is a pool of such connections, each prepared by prepare, and at most so many unless the address says otherwise
// (pool_max_conns). When one server falls silent, none of its idle connections is used any more.
func Pool(ctx context.Context, url string, most int32, prepare func(context.Context, *pgx.Conn) error) (*pgxpool.Pool, error) {
	config, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, err
	}
	if !strings.Contains(url, "pool_max_conns") {
		config.MaxConns = most
	}
	var made atomic.Pointer[pgxpool.Pool]
	attend(&config.ConnConfig.Config, func() {
		if pool := made.Load(); pool != nil {
			pool.Reset()
		}
	})
	config.AfterConnect = prepare
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, err
	}
	made.Store(pool)
	return pool, nil
}

func attend(config *pgconn.Config, silent func()) {
	if config.ConnectTimeout == 0 {
		config.ConnectTimeout = connectWithin
	}
	dialer := net.Dialer{KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: 5 * time.Second, Interval: 2 * time.Second, Count: 3}}
	config.DialFunc = func(ctx context.Context, network, address string) (net.Conn, error) {
		conn, err := dialer.DialContext(ctx, network, address)
		if err != nil {
			return nil, err
		}
		return &heard{Conn: conn, silent: silent, answers: func() bool { return answers(&dialer, network, address) }}, nil
	}
	config.OnNotice = func(c *pgconn.PgConn, n *pgconn.Notice) {
		if n.Routine == "SyncRepWaitForLSN" {
			c.CustomData()[alone] = true
		}
	}
}

// alone marks a connection whose COMMIT was answered before a second machine had it.
const alone = "stored on one machine alone"

// ErrAlone says that what was stored is on one machine only, though another one was to have it first: PostgreSQL
// answers a COMMIT so when somebody cancels its wait.
var ErrAlone = errors.New("it is not known whether a second machine has stored it")

// Replicated is ErrAlone where the last COMMIT of a connection was on one machine only.
func Replicated(c *pgx.Conn) error {
	if _, is := c.PgConn().CustomData()[alone]; is {
		delete(c.PgConn().CustomData(), alone)
		return ErrAlone
	}
	return nil
}

// errOver marks what is not to be begun again, though its connection was lost.
type errOver struct{ error }

func (e errOver) Unwrap() error { return e.error }

// Over makes of an error one after which Again does not try again.
func Over(err error) error { return errOver{err} }

// ErrLate says that something took longer than it may.
var ErrLate = errors.New("it took too long")

// Again does what a database that breaks off or moves may interrupt, and does it again for some seconds as long as it
// ends by a lost connection and is not Over. All of it ends within a time, by ErrLate if by nothing else.
func Again(ctx context.Context, pool *pgxpool.Pool, within time.Duration, do func(context.Context) error) error {
	ctx, cancel := context.WithTimeoutCause(ctx, within, ErrLate)
	defer cancel()
	pause := retry.WithCappedDuration(time.Second, retry.NewExponential(50*time.Millisecond))
	pause = retry.WithMaxDuration(patience, retry.WithJitterPercent(30, pause))
	err := retry.Do(ctx, pause, func(ctx context.Context) error {
		err := do(ctx)
		if err == nil || ctx.Err() != nil || !Lost(err) {
			return err
		}
		if standby(err) {
			pool.Reset() // the others lead to the same server
		}
		if over := (errOver{}); errors.As(err, &over) {
			return err
		}
		return retry.RetryableError(err)
	})
	if over := (errOver{}); errors.As(err, &over) {
		err = over.error
	}
	if err != nil && context.Cause(ctx) == ErrLate && !errors.Is(err, ErrLate) {
		err = fmt.Errorf("%w: %w", ErrLate, err)
	}
	return err
}

// Lost reports whether an error says that a server could not be reached, broke off, took too long, or is no primary any
// more: what the server refused for good, such as a password or a constraint, is not lost.
func Lost(err error) bool {
	var refused *pgconn.PgError
	var connecting *pgconn.ConnectError
	var network *net.OpError
	switch {
	case err == nil:
		return false
	case errors.Is(err, ErrLate), errors.Is(err, ErrAlone):
		return true
	case errors.As(err, &connecting):
		return !errors.As(err, &refused) || !slices.Contains([]string{"28", "3D", "42"}, refused.Code[:2])
	case errors.As(err, &refused):
		// PostgreSQL's appendix on error codes: shut down by somebody, by a crash, not yet up, out of connections;
		// class 08, connection exceptions, as poolers say them; and what a standby refuses.
		return slices.Contains([]string{"57P01", "57P02", "57P03", "53300"}, refused.Code) || refused.Code[:2] == "08" || standby(err)
	}
	return errors.As(err, &network) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, pgconn.ErrConnClosed)
}

// standby reports whether a server refused to write because it is a standby.
func standby(err error) bool {
	var refused *pgconn.PgError
	return errors.As(err, &refused) && (refused.Code == "25006" || refused.Code == "0A000" && refused.Routine == "check_transaction_read_only")
}

// Hosts are the hosts of an address as "host:port", in its order, each once.
func Hosts(config *pgconn.Config) []string {
	hosts := []string{at(config.Host, config.Port)}
	for _, more := range config.Fallbacks {
		if host := at(more.Host, more.Port); !slices.Contains(hosts, host) {
			hosts = append(hosts, host)
		}
	}
	return hosts
}

func at(host string, port uint16) string {
	return net.JoinHostPort(host, fmt.Sprint(port))
}
