//go:build unix

package pgserver

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// How long to pause between attempts to bring a server back that keeps ending, and how long one must have run to be
// taken for sound again.
const (
	restartFirst  = 250 * time.Millisecond
	restartLatest = 30 * time.Second
	soundAfter    = time.Minute
	askAfter      = 20 * time.Second // of silence, and as long as an answer may take
)

// keepUp brings the server back whenever it ends, until ctx does. Of what goes wrong again and again it tells ever
// more rarely.
func (s *Server) keepUp(ctx context.Context) {
	var rest time.Duration
	var ends, failures int // in a row
	for {
		begin := time.Now()
		s.awaitEnd(ctx)
		if time.Since(begin) > soundAfter {
			rest, ends = 0, 0
		}
		if pause(ctx, rest) != nil {
			return
		}
		started, err := s.bringBack(ctx)
		if ctx.Err() != nil {
			return
		}
		s.mu.Lock()
		s.trouble = err
		s.mu.Unlock()
		switch {
		case err != nil:
			if failures++; seldom(failures) {
				s.cfg.note("The journal's database is away: %v. It is tried again by itself.", err)
			}
		case started:
			if ends++; ends <= 3 || failures > 0 {
				s.cfg.note("The journal's database had ended and was started again; its log is %s.", s.folder.log())
			} else if seldom(ends) {
				s.cfg.note("The journal's database has ended and was started again %d times, never to run for %s; see in its log %s why, "+
					"and whether this machine has memory and disk to spare. Nothing that was saved is lost.", ends, spoken(soundAfter), s.folder.log())
			}
			failures = 0
		default:
			failures = 0
		}
		rest = min(max(2*rest, restartFirst), restartLatest)
	}
}

// seldom reports whether the n-th time is one to be told: the first, second, fourth, eighth and so on.
func seldom(n int) bool { return n&(n-1) == 0 }

// awaitEnd holds a connection and returns when it breaks, which the end of the server does at once, whoever started
// it, on every system and without asking. It asks now and then all the same, and returns where no answer comes.
func (s *Server) awaitEnd(ctx context.Context) {
	conn, err := pgconn.Connect(ctx, s.URL("postgres"))
	for err == nil {
		err = s.cfg.heed(ctx, conn)
	}
	if conn != nil {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		_ = conn.Close(ctx)
	}
}

// heed waits for a message of the server, such as a setting that has changed, or else asks it for a sign of life.
func (c Config) heed(ctx context.Context, conn *pgconn.PgConn) error {
	after := cmp.Or(c.askAfter, askAfter)
	quiet, cancel := context.WithTimeout(ctx, after)
	defer cancel()
	_, err := conn.ReceiveMessage(quiet)
	if err == nil || ctx.Err() != nil || !pgconn.Timeout(err) {
		return err
	}
	answered, cancel := context.WithTimeout(ctx, after)
	defer cancel()
	return conn.Ping(answered)
}

// bringBack starts the server again at the same address. Of several processes that use it the first to notice does;
// the others find it running. started is whether it did.
func (s *Server) bringBack(ctx context.Context) (started bool, err error) {
	start, err := lockFile(ctx, s.cfg, s.folder.startLock(), exclusive)
	if err != nil {
		return false, err
	}
	defer start.Close()
	if major, err := clusterMajor(s.folder); err != nil {
		return false, err
	} else if major == 0 {
		return false, fmt.Errorf("its files in %s are gone; restore them or end rigtally", s.folder.cluster())
	}
	cfg := s.cfg
	cfg.sockets = s.at.socketDir
	// What was begun comes to its end, so that whoever ends this process has a server to stop, and no half of one.
	cfg.unbroken = true
	p, _, err := ensureRunning(ctx, cfg, s.folder)
	if err != nil {
		return false, err
	}
	at, _ := readPostmaster(s.folder.cluster())
	if at.socketDir != s.at.socketDir {
		return false, fmt.Errorf("another rigtally has started it at another address, %s; end this one and start it anew", at.socketDir)
	}
	if p != nil && keptRunning(s.folder, s.at) {
		err = keepRunning(s.folder, at)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.at = at
	if p != nil {
		s.process = p
	}
	return p != nil, err
}
