package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"log/slog"
	"net"
	"net/http"
	"time"
)

const (
	writeTimeout = 60 * time.Second // after which an answer goes nowhere
	answerIn     = writeTimeout - 10*time.Second
)

// Serve answers on a listener until ctx ends, then lets requests under way
// finish for a few seconds. It returns nil after an orderly end.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	return s.ServeAt(ctx, []net.Listener{l})
}

// ServeAt is Serve on several listeners. The end of one ends all.
func (s *Server) ServeAt(ctx context.Context, at []net.Listener) error {
	defer s.tray.Close()
	defer s.rivers.Close()
	srv := &http.Server{
		Handler:           s.Handler(),
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      writeTimeout,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          log.New(unknocked{slog.NewLogLogger(s.Log.Handler(), slog.LevelWarn).Writer()}, "", 0),
	}
	ended := make(chan error, len(at))
	for _, l := range at {
		go func() { ended <- srv.Serve(l) }()
	}
	s.watch.Serving()
	select {
	case err := <-ended:
		_ = srv.Close()
		return fmt.Errorf("serve the pages: %w", err)
	case <-ctx.Done():
	}
	s.watch.Stopping()
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if err := srv.Shutdown(grace); err != nil {
		_ = srv.Close() // what is still open after the grace is cut off
	}
	for range at {
		if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
			return fmt.Errorf("serve the pages: %w", err)
		}
	}
	return nil
}

// unknocked leaves out who came for another name or spoke no TLS, as programs that look for open doors do all day.
type unknocked struct{ io.Writer }

func (u unknocked) Write(line []byte) (int, error) {
	if bytes.HasPrefix(line, []byte("http: TLS handshake error")) {
		return len(line), nil
	}
	return u.Writer.Write(line)
}
