// Package fetch asks services on the web for a body of text, with manners: it says who asks, waits when told to, takes no
// more than it can hold, and gives up what stalls. It goes nowhere but to public addresses by https.
package fetch

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"mime"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"
)

// Options are what a Client may be told; the zero value is ready to use.
type Options struct {
	Version  string           // of the program, for its user agent
	Now      func() time.Time // the clock; nil is time.Now
	Loopback []string         // addresses of this machine, as 127.0.0.1:8080, that may be asked, by http too; for tests
	Roots    *x509.CertPool   // whom to believe; nil: whom the machine believes

	MaxBytes  int64         // of an answer, unpacked; 0 is 32 MiB
	Redirects int           // followed at most; 0 is 3
	Connect   time.Duration // how long to wait for a connection; 0 is 10 s
	Header    time.Duration // and then for the first line of an answer; 0 is 30 s
	Stall     time.Duration // and for its next bytes; 0 is 20 s
	Whole     time.Duration // and for all of it; 0 is 2 min
}

// Client asks services. It is safe for use by several at once.
type Client struct {
	opt  Options
	http *http.Client

	mu    sync.Mutex
	turns map[string]chan struct{} // by host: agencies ask to be asked one question after the other
}

// The usual limits.
const (
	usualBytes     = 32 << 20
	usualRedirects = 3
	usualConnect   = 10 * time.Second
	usualHeader    = 30 * time.Second
	usualStall     = 20 * time.Second
	usualWhole     = 2 * time.Minute
)

// New makes a client.
func New(opt Options) *Client {
	orElse(&opt.MaxBytes, usualBytes)
	orElse(&opt.Redirects, usualRedirects)
	orElse(&opt.Connect, usualConnect)
	orElse(&opt.Header, usualHeader)
	orElse(&opt.Stall, usualStall)
	orElse(&opt.Whole, usualWhole)
	if opt.Now == nil {
		opt.Now = time.Now
	}
	c := &Client{opt: opt, turns: map[string]chan struct{}{}}
	dialer := &net.Dialer{Timeout: opt.Connect, Control: c.mayDial}
	return c.over(dialer.DialContext)
}

// over is the client with a way to connect.
func (c *Client) over(dial func(ctx context.Context, network, address string) (net.Conn, error)) *Client {
	c.http = &http.Client{
		CheckRedirect: c.mayFollow,
		Transport: &http.Transport{ // without a proxy: the address that is dialed is the one that is judged
			DialContext:            dial,
			TLSClientConfig:        &tls.Config{MinVersion: tls.VersionTLS12, RootCAs: c.opt.Roots},
			TLSHandshakeTimeout:    c.opt.Connect,
			ResponseHeaderTimeout:  c.opt.Header,
			MaxResponseHeaderBytes: 64 << 10,
			IdleConnTimeout:        30 * time.Second,
			ForceAttemptHTTP2:      true,
		},
	}
	return c
}

func orElse[T comparable](v *T, usual T) {
	if *v == *new(T) {
		*v = usual
	}
}

// Ask is a question to a service.
type Ask struct {
	Service string   // who is asked, in words: "the U.S. Geological Survey"
	URL     *url.URL // without a secret
	Key     Key      // sent to the host of the address and no further

	ETag, LastModified string // by which the last answer is known, "" for none
}

// Key is a header by which a service knows who asks; without a name there is none.
type Key struct{ Name, Value string }

// Answer is a body that came whole.
type Answer struct {
	Body []byte
	Same bool // as the last one: there is no body

	ETag, LastModified string // to ask by the next time
}

// agent tells services what program asks, and nothing of whoever runs it.
func (c *Client) agent() string {
	version := strings.Map(func(r rune) rune {
		if r > ' ' && r < 0x7f && r != '(' && r != ')' {
			return r
		}
		return -1
	}, strings.SplitN(c.opt.Version+" ", " ", 2)[0])
	if version == "" {
		version = "unreleased"
	}
	return "rigtally/" + version + " (a fishing journal; asks each gauge every 15 minutes at most)"
}

// Get asks once. Whatever goes wrong but the end of ctx is an *Error.
func (c *Client) Get(ctx context.Context, ask Ask) (Answer, error) {
	if err := c.mayAsk(ask.URL); err != nil {
		return Answer{}, &Error{Service: ask.Service, Kind: Elsewhere, Cause: err}
	}
	end, err := c.turn(ctx, ask.URL.Host)
	if err != nil {
		return Answer{}, fmt.Errorf("ask %s: %w", ask.Service, err)
	}
	defer end()
	asked := ctx
	ctx, give := context.WithCancelCause(ctx)
	defer give(nil)
	defer time.AfterFunc(c.opt.Whole, func() { give(errSlow) }).Stop()
	request, err := http.NewRequestWithContext(context.WithValue(ctx, keyed{}, ask), http.MethodGet, ask.URL.String(), nil)
	if err != nil {
		return Answer{}, fmt.Errorf("ask %s: %w", ask.Service, err)
	}
	head := request.Header
	head.Set("User-Agent", c.agent())
	head.Set("Accept", "application/geo+json, application/json")
	set(head, ask.Key.Name, ask.Key.Value)
	set(head, "If-None-Match", ask.ETag)
	set(head, "If-Modified-Since", ask.LastModified)
	response, err := c.http.Do(request)
	if err != nil {
		return Answer{}, c.failed(asked, ctx, ask, err)
	}
	defer response.Body.Close()
	answer := Answer{ETag: response.Header.Get("ETag"), LastModified: response.Header.Get("Last-Modified")}
	switch response.StatusCode {
	case http.StatusOK, http.StatusPartialContent: // a part is what some services call one page of several; no range was asked for
	case http.StatusNotModified:
		orElse(&answer.ETag, ask.ETag)
		orElse(&answer.LastModified, ask.LastModified)
		answer.Same = true
		return answer, nil
	default:
		return Answer{}, c.refused(ask, response)
	}
	if answer.Body, err = c.body(response.Body, give); err != nil {
		return Answer{}, c.failed(asked, ctx, ask, err)
	}
	if isPage(response.Header.Get("Content-Type"), answer.Body) {
		return Answer{}, &Error{Service: ask.Service, Kind: WebPage, Status: response.StatusCode}
	}
	return answer, nil
}

// turn waits until nobody else asks a host, and returns what to call in the end.
func (c *Client) turn(ctx context.Context, host string) (end func(), err error) {
	c.mu.Lock()
	one, ok := c.turns[host]
	if !ok {
		one = make(chan struct{}, 1)
		c.turns[host] = one
	}
	c.mu.Unlock()
	select {
	case one <- struct{}{}:
		return func() { <-one }, nil
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
}

func set(head http.Header, name, value string) {
	if name != "" && value != "" {
		head.Set(name, value)
	}
}

// body reads all that comes, and gives up when nothing does for a time.
func (c *Client) body(from io.Reader, give context.CancelCauseFunc) ([]byte, error) {
	stalled := time.AfterFunc(c.opt.Stall, func() { give(errSlow) })
	defer stalled.Stop()
	var all []byte
	for part := make([]byte, 32<<10); ; {
		n, err := from.Read(part)
		all = append(all, part[:n]...)
		switch {
		case int64(len(all)) > c.opt.MaxBytes:
			return nil, errTooMuch
		case errors.Is(err, io.EOF):
			return all, nil
		case err != nil:
			return nil, err
		}
		stalled.Reset(c.opt.Stall)
	}
}

// isPage reports whether an answer is a page for people, where data was asked for.
func isPage(kind string, body []byte) bool {
	if kind, _, err := mime.ParseMediaType(kind); err == nil && (kind == "text/html" || kind == "application/xhtml+xml") {
		return true
	}
	return bytes.HasPrefix(bytes.TrimLeft(body, "\xef\xbb\xbf \t\r\n"), []byte("<"))
}
