//go:build unix

package pgserver

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

const trimEvery = time.Hour

// Server is a running server that this process uses. It keeps running at least until Release.
type Server struct {
	cfg       Config
	folder    folder
	startedIn time.Duration
	users     *os.File // holds the shared lock
	throwAway *throwAway

	background sync.WaitGroup
	endWork    context.CancelFunc // of the background

	mu       sync.Mutex // guards the rest
	at       postmaster
	process  *process // nil if another process started it
	trouble  error    // why it could not be brought back
	released bool
}

// Acquire makes the cluster if there is none, starts the server unless it runs, and counts this process among its
// users. The caller must Release the server. With ctx done it gives up and leaves nothing half-made.
func Acquire(ctx context.Context, cfg Config) (*Server, error) {
	f, err := cfg.openInTime(ctx)
	if err != nil {
		return nil, err
	}
	start, err := lockFile(ctx, cfg, f.startLock(), exclusive)
	if err != nil {
		return nil, err
	}
	defer start.Close()
	if err := tellLeft(cfg, f); err != nil {
		return nil, err
	}
	users, err := lockFile(ctx, cfg, f.usersLock(), shared)
	if err != nil {
		return nil, err
	}
	p, took, err := ensureRunning(ctx, cfg, f)
	if err != nil {
		users.Close()
		return nil, err
	}
	s := &Server{cfg: cfg, folder: f, startedIn: took, process: p, users: users}
	s.at, _ = readPostmaster(f.cluster()) // complete: the server has answered
	s.startWork()
	return s, nil
}

// tellLeft says so where a server runs that nobody uses and nobody wanted to be left running.
func tellLeft(cfg Config, f folder) error {
	users, err := openLock(f.usersLock())
	if err != nil {
		return err
	}
	defer users.Close()
	unused, err := tryLock(users, exclusive)
	if err != nil || !unused {
		return err
	}
	if pm, found := readPostmaster(f.cluster()); found && pm.alive(f.cluster()) && !keptRunning(f, pm) {
		cfg.note("A rigtally that was killed left the journal's database running; nothing is lost. It is used now, and stopped with its last user.")
	}
	return nil
}

// URL is the address of a database of this server for its superuser, for pgx and for PostgreSQL's own programs.
func (s *Server) URL(database string) string { return s.urlAs(Superuser, database) }

// KeeperURL is the address of a database for who owns and migrates its tables.
func (s *Server) KeeperURL(database string) string { return s.urlAs(Keeper, database) }

// ProgramURL is the address of a database for the program, which owns nothing in it.
func (s *Server) ProgramURL(database string) string { return s.urlAs(Program, database) }

func (s *Server) urlAs(user, database string) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return socketURL(s.at.socketDir, s.at.port, user, database)
}

// Trouble is why the server is away and could not be brought back so far, with what to do; nil where it is up, or where
// Config.Restart did not ask for that.
func (s *Server) Trouble() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.trouble
}

// StartedIn is how long the server took from its start to its first answer; 0 if it was running already.
func (s *Server) StartedIn() time.Duration { return s.startedIn }

// EnsureDatabase makes a database unless it exists, and the roles to keep and to use it by.
func (s *Server) EnsureDatabase(ctx context.Context, name string) error {
	within, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	err := s.ensureDatabase(within, name)
	if err != nil && within.Err() != nil && ctx.Err() == nil {
		return fmt.Errorf("PostgreSQL did not come up with the database %s within %s; end what keeps it busy and try again; its log is %s: %w",
			name, spoken(patience), s.folder.log(), err)
	}
	return err
}

func (s *Server) ensureDatabase(ctx context.Context, name string) error {
	conn, err := pgx.Connect(ctx, s.URL("postgres"))
	if err != nil {
		return fmt.Errorf("connecting to the private PostgreSQL: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var owner string
	err = conn.QueryRow(ctx, "SELECT pg_get_userbyid(datdba) FROM pg_database WHERE datname = $1", name).Scan(&owner)
	switch {
	case err == nil && owner == Keeper:
		return nil
	case err != nil && !errors.Is(err, pgx.ErrNoRows):
		return fmt.Errorf("looking for the database %s: %w", name, err)
	}
	if _, err := conn.Exec(ctx, makeRoles); err != nil {
		return fmt.Errorf("making the roles of the database %s: %w", name, err)
	}
	if owner != "" {
		return s.handOver(ctx, name)
	}
	_, err = conn.Exec(ctx, "CREATE DATABASE "+pgx.Identifier{name}.Sanitize()+" OWNER "+Keeper)
	var refused *pgconn.PgError
	if errors.As(err, &refused) && (refused.Code == "42P04" || refused.Code == "23505") {
		return nil // another process was faster: duplicate_database, or unique_violation in the same instant
	}
	if err != nil {
		return fmt.Errorf("making the database %s: %w", name, err)
	}
	return nil
}

// makeRoles makes who keeps databases, and may make the roles that their tables know, and who works in them.
const makeRoles = `DO $$
DECLARE
	made text;
BEGIN
	FOREACH made IN ARRAY ARRAY['` + Keeper + ` LOGIN CREATEROLE', '` + Program + ` LOGIN NOINHERIT'] LOOP
		IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = split_part(made, ' ', 1)) THEN
			BEGIN
				EXECUTE 'CREATE ROLE ' || made;
			EXCEPTION WHEN duplicate_object OR unique_violation THEN
				NULL; -- another process was faster
			END;
		END IF;
	END LOOP;
END
$$`

// handOver gives a database of an earlier program, which its superuser owned, to who keeps it now.
func (s *Server) handOver(ctx context.Context, name string) error {
	conn, err := pgx.Connect(ctx, s.URL(name))
	if err != nil {
		return fmt.Errorf("connecting to the database %s: %w", name, err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	_, err = conn.Exec(ctx, `DO $$
DECLARE
	alter text;
BEGIN
	PERFORM pg_advisory_xact_lock(8244234342426766457); -- so that one process does it
	FOR alter IN
		SELECT format('ALTER TABLE %I.%I OWNER TO `+Keeper+`', schemaname, tablename) FROM pg_tables WHERE schemaname = 'public'
		UNION ALL SELECT format('ALTER VIEW %I.%I OWNER TO `+Keeper+`', schemaname, viewname) FROM pg_views WHERE schemaname = 'public'
		UNION ALL SELECT format('ALTER FUNCTION %s OWNER TO `+Keeper+`', oid::regprocedure) FROM pg_proc WHERE pronamespace = 'public'::regnamespace
	LOOP
		EXECUTE alter;
	END LOOP;
	EXECUTE format('ALTER DATABASE %I OWNER TO `+Keeper+`', current_database());
	ALTER SCHEMA public OWNER TO `+Keeper+`;
END
$$`)
	if err != nil {
		return fmt.Errorf("handing the database %s to its keeper: %w", name, err)
	}
	return nil
}

// Release ends this process's use of the server. The last user stops it, unless Start left it running on purpose,
// and returns when nothing of it is left. It takes no longer than a few minutes, whatever happens; give it a context
// that Ctrl-C does not end. A second call does nothing.
func (s *Server) Release(ctx context.Context) error {
	s.endWork()
	s.background.Wait()
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.released {
		return nil
	}
	start, err := lockFile(ctx, s.cfg, s.folder.startLock(), exclusive)
	if err != nil {
		return err
	}
	defer start.Close()
	s.released = true
	defer s.users.Close()
	last, err := tryLock(s.users, exclusive)
	if err != nil || !last {
		return err
	}
	if pm, found := readPostmaster(s.folder.cluster()); found && keptRunning(s.folder, pm) {
		return nil
	}
	steps := orderly()
	if s.throwAway != nil {
		steps = atOnce() // nothing in it is worth writing
	}
	if err := stopServer(ctx, s.cfg, s.folder, steps); err != nil {
		return err
	}
	if s.process != nil {
		s.process.awaitExit(time.Minute) // it has ended, or it would still hold its lock, but may not have been waited for
	}
	return s.throwAway.remove()
}

// startWork keeps the log bounded, for a process that runs for months, and brings the server back if that is wanted.
func (s *Server) startWork() {
	ctx, cancel := context.WithCancel(context.Background())
	s.endWork = cancel
	s.background.Go(func() {
		for pause(ctx, trimEvery) == nil {
			_ = trimServerLog(s.folder) // tried again an hour later
		}
	})
	if s.cfg.Restart {
		s.background.Go(func() { s.keepUp(ctx) })
	}
}
