package pgserver

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

const trimEvery = time.Hour

// Server is a running server that this process uses. It keeps running at least until Release.
type Server struct {
	folder    folder
	at        postmaster
	startedIn time.Duration
	process   *process // nil if another process started it
	users     *os.File // holds the shared lock
	throwAway *throwAway
	trimming  context.CancelFunc

	mu       sync.Mutex
	released bool
}

// Acquire makes the cluster if there is none, starts the server unless it runs, and counts this process among its
// users. The caller must Release the server. With ctx done it gives up and leaves nothing half-made.
func Acquire(ctx context.Context, cfg Config) (*Server, error) {
	f, err := openFolder(cfg.DataDir)
	if err != nil {
		return nil, err
	}
	start, err := lockFile(ctx, f.startLock(), exclusive)
	if err != nil {
		return nil, err
	}
	defer start.Close()
	users, err := lockFile(ctx, f.usersLock(), shared)
	if err != nil {
		return nil, err
	}
	p, took, err := ensureRunning(ctx, cfg, f)
	if err != nil {
		users.Close()
		return nil, err
	}
	s := &Server{folder: f, startedIn: took, process: p, users: users}
	s.at, _ = readPostmaster(f.cluster()) // complete: the server has answered
	s.keepLogBounded()
	return s, nil
}

// URL is the address of a database of this server, for pgx and for PostgreSQL's own programs.
func (s *Server) URL(database string) string { return socketURL(s.at.socketDir, s.at.port, database) }

// StartedIn is how long the server took from its start to its first answer; 0 if it was running already.
func (s *Server) StartedIn() time.Duration { return s.startedIn }

// EnsureDatabase makes a database unless it exists.
func (s *Server) EnsureDatabase(ctx context.Context, name string) error {
	conn, err := pgx.Connect(ctx, s.URL("postgres"))
	if err != nil {
		return fmt.Errorf("connecting to the private PostgreSQL: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var exists bool
	if err := conn.QueryRow(ctx, "SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)", name).Scan(&exists); err != nil {
		return fmt.Errorf("looking for the database %s: %w", name, err)
	}
	if exists {
		return nil
	}
	_, err = conn.Exec(ctx, "CREATE DATABASE "+pgx.Identifier{name}.Sanitize())
	var refused *pgconn.PgError
	if errors.As(err, &refused) && (refused.Code == "42P04" || refused.Code == "23505") {
		return nil // another process was faster: duplicate_database, or unique_violation in the same instant
	}
	if err != nil {
		return fmt.Errorf("making the database %s: %w", name, err)
	}
	return nil
}

// Release ends this process's use of the server. The last user stops it, unless Start left it running on purpose,
// and returns when nothing of it is left. Give it a context that Ctrl-C does not end. A second call does nothing.
func (s *Server) Release(ctx context.Context) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.released {
		return nil
	}
	start, err := lockFile(ctx, s.folder.startLock(), exclusive)
	if err != nil {
		return err
	}
	defer start.Close()
	s.released = true
	s.trimming()
	defer s.users.Close()
	last, err := tryLock(s.users, exclusive)
	if err != nil || !last || keptRunning(s.folder) {
		return err
	}
	signal := syscall.SIGINT // fast shutdown: connections are closed, everything is written
	if s.throwAway != nil {
		signal = syscall.SIGQUIT // nothing in it is worth writing
	}
	if err := stopServer(ctx, s.folder, signal); err != nil {
		return err
	}
	if s.process != nil {
		<-s.process.exited
	}
	return s.throwAway.remove()
}

// keepLogBounded trims the log from time to time, for a process that runs for months.
func (s *Server) keepLogBounded() {
	ctx, cancel := context.WithCancel(context.Background())
	s.trimming = cancel
	go func() {
		for pause(ctx, trimEvery, "") == nil {
			_ = trimServerLog(s.folder) // tried again an hour later
		}
	}()
}
