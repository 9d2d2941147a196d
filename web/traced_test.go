package web_test

import (
	"net/http"
	"net/netip"
	"regexp"
	"strings"
	"testing"

	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/webtest"
)

// Ensure that each answer carries an ID, which is a proxy's own word only where that proxy is named and the word plain.
func TestRequestIDs(t *testing.T) {
	t.Parallel()
	own := regexp.MustCompile(`^[0-9a-f]{12}$`)
	for _, c := range []struct {
		name, given string
		named, kept bool
	}{
		{"none given", "", true, false},
		{"by a named proxy", "edge-7f3a21", true, true},
		{"by a stranger", "edge-7f3a21", false, false},
		{"with what is no word", "edge 7f3a21 status=200", true, false},
		{"without end", strings.Repeat("a", 65), true, false},
	} {
		place := web.Place{Origin: "https://journal.example.org", Hosts: []string{"journal.example.org"}}
		if c.named {
			place.Proxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}
		}
		s := webtest.ServeWith(t, func(*pg.Store) web.Options {
			return web.Options{Door: webtest.Visitors{}, Place: place}
		})
		r := s.Request(http.MethodGet, "/nowhere", nil)
		r.Host = "journal.example.org"
		r.Header.Set("X-Forwarded-Proto", "https")
		r.Header.Set("X-Request-Id", c.given)
		if got := s.Do(r).Header.Get("X-Request-Id"); c.kept != (got == c.given) || !c.kept && !own.MatchString(got) {
			t.Errorf("%s: %q", c.name, got)
		}
	}
}
