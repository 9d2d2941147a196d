//go:build unix

package pgserver

import (
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
)

// keepUp brings the server back whenever it ends, until ctx does.
func (s *Server) keepUp(ctx context.Context) {
	var rest time.Duration
	for {
		begin := time.Now()
		s.awaitEnd(ctx)
		if time.Since(begin) > soundAfter {
			rest = 0
		}
		if pause(ctx, rest) != nil {
			return
		}
		if err := s.bringBack(ctx); err != nil && ctx.Err() == nil {
			s.cfg.note("The journal's database has ended, and can't be started again: %v.", err)
		}
		rest = min(max(2*rest, restartFirst), restartLatest)
	}
}

// awaitEnd holds a connection and returns when it breaks, which the end of the server does at once, whoever started
// it, on every system and without asking.
func (s *Server) awaitEnd(ctx context.Context) {
	conn, err := pgconn.Connect(ctx, s.URL("postgres"))
	for err == nil {
		_, err = conn.ReceiveMessage(ctx) // such as a setting that has changed
	}
	if conn != nil {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		_ = conn.Close(ctx)
	}
}

// bringBack starts the server again at the same address. Of several processes that use it the first to notice does;
// the others find it running.
func (s *Server) bringBack(ctx context.Context) error {
	start, err := lockFile(ctx, s.cfg, s.folder.startLock(), exclusive)
	if err != nil {
		return err
	}
	defer start.Close()
	if major, err := clusterMajor(s.folder); err != nil {
		return err
	} else if major == 0 {
		return fmt.Errorf("its files in %s are gone; restore them or end rigtally", s.folder.cluster())
	}
	cfg := s.cfg
	cfg.sockets = s.at.socketDir
	// What was begun comes to its end, so that whoever ends this process has a server to stop, and no half of one.
	p, _, err := ensureRunning(context.WithoutCancel(ctx), cfg, s.folder)
	if err != nil {
		return err
	}
	at, _ := readPostmaster(s.folder.cluster())
	if at.socketDir != s.at.socketDir {
		return fmt.Errorf("another rigtally has started it at another address, %s; end this one and start it anew", at.socketDir)
	}
	if p != nil && keptRunning(s.folder, s.at) {
		err = keepRunning(s.folder, at)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.at = at
	if p != nil {
		s.process = p
		s.cfg.note("The journal's database had ended and was started again; its log is %s.", s.folder.log())
	}
	return err
}
