package webtest

import (
	"net/http"
	"testing"

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
	return ServeWith(t, func(*pg.Store) web.Options { return web.Options{Door: people} })
}

// As is the site as a visitor asks it.
func (s *Site) As(name string) *Site { return s.With(http.Cookie{Name: "visitor", Value: name}) }

// With is the site as a browser asks it that has a cookie.
func (s *Site) With(cookie http.Cookie) *Site {
	own := *s
	client := *s.Client
	client.Transport = withCookie{cookie, s.Client.Transport}
	own.Client = &client
	return &own
}

type withCookie struct {
	cookie http.Cookie
	next   http.RoundTripper
}

// RoundTrip sends the cookie with a request.
func (c withCookie) RoundTrip(r *http.Request) (*http.Response, error) {
	r = r.Clone(r.Context())
	r.AddCookie(&c.cookie)
	return c.next.RoundTrip(r)
}
