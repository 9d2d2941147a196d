package webtest

import (
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
)

// Visitors is a door for tests: whoever's name the cookie "visitor" holds comes in. Nobody else does.
type Visitors map[string]door.Visitor

// Enter lets in who is known.
func (v Visitors) Enter(w http.ResponseWriter, r *http.Request) (door.Visitor, bool) {
	if c, err := r.Cookie("visitor"); err == nil {
		if who, known := v[c.Value]; known {
			return who, true
		}
	}
	http.Error(w, "nobody", http.StatusUnauthorized)
	return door.Visitor{}, false
}

// NewWith serves an empty journal to whom a door lets in, such as visitors that a test names afterwards.
func NewWith(t testing.TB, people door.Door) *Site {
	t.Helper()
	store := Got(pg.Open(t.Context(), pgtest.NewDatabase(t)))(t)
	t.Cleanup(store.Close)
	log := &strings.Builder{}
	server := Got(web.New(store, web.Options{Logger: slog.New(slog.NewTextHandler(log, nil)), Door: people}))(t)
	ts := httptest.NewServer(server.Handler())
	t.Cleanup(ts.Close)
	client := ts.Client()
	client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &Site{T: t, Store: store, Server: server, URL: ts.URL, Log: log, Client: client}
}

// As is the site as a visitor asks it.
func (s *Site) As(name string) *Site {
	own := *s
	client := *s.Client
	client.Transport = asVisitor{name, s.Client.Transport}
	own.Client = &client
	return &own
}

type asVisitor struct {
	name string
	next http.RoundTripper
}

// RoundTrip sends the visitor's cookie with a request.
func (v asVisitor) RoundTrip(r *http.Request) (*http.Response, error) {
	r = r.Clone(r.Context())
	r.AddCookie(&http.Cookie{Name: "visitor", Value: v.name})
	return v.next.RoundTrip(r)
}
