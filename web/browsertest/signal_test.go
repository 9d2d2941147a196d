package browsertest

import (
	"fmt"
	"io"
	"net"
	"sync"
	"testing"

	"rigtally/web/webtest"
)

// signal is what a phone has of a journal's port, and can lose.
type signal struct {
	port int

	mu   sync.Mutex
	lost bool
	open []net.Conn
}

func signalOf(t *testing.T, port int) *signal {
	t.Helper()
	l := webtest.Got(net.Listen("tcp", "127.0.0.1:0"))(t)
	s := &signal{port: l.Addr().(*net.TCPAddr).Port}
	t.Cleanup(func() {
		_ = l.Close()
		s.lose(true)
	})
	go func() {
		for {
			near, err := l.Accept()
			if err != nil {
				return
			}
			far, err := net.Dial("tcp", fmt.Sprintf("127.0.0.1:%d", port))
			if err != nil {
				_ = near.Close()
				continue
			}
			s.carry(near, far)
		}
	}()
	return s
}

// carry passes on what two ends say to each other, until one has gone or the signal is lost.
func (s *signal) carry(near, far net.Conn) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.lost {
		_, _ = near.Close(), far.Close()
		return
	}
	s.open = append(s.open, near, far)
	for _, way := range [][2]net.Conn{{near, far}, {far, near}} {
		go func() {
			_, _ = io.Copy(way[0], way[1])
			_, _ = near.Close(), far.Close()
		}()
	}
}

// lose ends every connection and lets no other through, or has the signal back.
func (s *signal) lose(lost bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.lost = lost
	for _, c := range s.open {
		_ = c.Close()
	}
	s.open = nil
}
