package link

import (
	"errors"
	"io"
	"net"
	"os"
	"sync"
	"time"
)

const (
	quiet        = 2 * time.Second // after which a server that says nothing is asked whether it is there
	answerWithin = 2 * time.Second
)

// errSilent is why a connection ends whose server does not answer anybody.
var errSilent = errors.New("the server has fallen silent")

// heard is a connection whose server may take its time, but not fall silent: a machine that was stopped or cut off sends
// no end of its connections. While one waits, its server is asked on another whether it still answers.
type heard struct {
	net.Conn
	answers func() bool
	silent  func()

	mu          sync.Mutex
	read, write time.Time // until when whoever uses the connection waits; zero: without end
	over        error     // once it was silent
}

// Read waits for what the server says as long as it answers others.
func (c *heard) Read(b []byte) (int, error) {
	for {
		if err := c.wait(c.Conn.SetReadDeadline, &c.read); err != nil {
			return 0, err
		}
		n, err := c.Conn.Read(b)
		if n > 0 || !c.goesOn(err, "read", &c.read) {
			return n, c.orSilent(err)
		}
	}
}

// Write waits in the same way for what the server takes.
func (c *heard) Write(b []byte) (done int, err error) {
	for {
		if err := c.wait(c.Conn.SetWriteDeadline, &c.write); err != nil {
			return done, err
		}
		n, err := c.Conn.Write(b[done:])
		if done += n; err == nil || n == 0 && !c.goesOn(err, "write", &c.write) || n > 0 && !errors.Is(err, os.ErrDeadlineExceeded) {
			return done, c.orSilent(err)
		}
	}
}

// wait lets the next call go on until the server is to be asked, or until its user waits no longer.
func (c *heard) wait(set func(time.Time) error, until *time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.over != nil {
		return c.over
	}
	return set(sooner(*until))
}

func sooner(until time.Time) time.Time {
	if next := time.Now().Add(quiet); until.IsZero() || next.Before(until) {
		return next
	}
	return until
}

// goesOn reports whether a call is to wait on: its user still waits, and the server answers.
func (c *heard) goesOn(err error, doing string, until *time.Time) bool {
	if !errors.Is(err, os.ErrDeadlineExceeded) || c.expired(until) {
		return false
	}
	if c.answers() {
		return true
	}
	if c.expired(until) {
		return false
	}
	c.mu.Lock()
	c.over = &net.OpError{Op: doing, Net: c.RemoteAddr().Network(), Addr: c.RemoteAddr(), Err: errSilent}
	c.mu.Unlock()
	c.silent()
	return false
}

func (c *heard) expired(until *time.Time) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return !until.IsZero() && !time.Now().Before(*until)
}

// orSilent is the error of a call, or that the server was silent.
func (c *heard) orSilent(err error) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if err != nil && c.over != nil {
		return c.over
	}
	return err
}

// SetDeadline says until when whoever uses the connection waits.
func (c *heard) SetDeadline(t time.Time) error {
	return errors.Join(c.SetReadDeadline(t), c.SetWriteDeadline(t))
}

// SetReadDeadline is SetDeadline for reading alone.
func (c *heard) SetReadDeadline(t time.Time) error { return c.set(t, c.Conn.SetReadDeadline, &c.read) }

// SetWriteDeadline is SetDeadline for writing alone.
func (c *heard) SetWriteDeadline(t time.Time) error {
	return c.set(t, c.Conn.SetWriteDeadline, &c.write)
}

func (c *heard) set(t time.Time, set func(time.Time) error, until *time.Time) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	*until = t
	return set(sooner(t))
}

// answers asks a server for encryption on a connection of its own, which it answers by a letter before it knows who asks.
func answers(dialer *net.Dialer, network, address string) bool {
	patient := *dialer
	patient.Timeout = answerWithin
	conn, err := patient.Dial(network, address)
	if err != nil {
		return false
	}
	defer conn.Close()
	if err := conn.SetDeadline(time.Now().Add(answerWithin)); err != nil {
		return false
	}
	if _, err := conn.Write([]byte{0, 0, 0, 8, 4, 210, 22, 47}); err != nil { // SSLRequest
		return false
	}
	_, err = io.ReadFull(conn, make([]byte, 1))
	return err == nil
}
