package web_test

import (
	"crypto/tls"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"testing"

	"rigtally/web"
	"rigtally/web/webtest"
)

// Who a request comes from, where proxies forward it. That only the part of the list that named proxies wrote can be
// trusted is said by MDN on X-Forwarded-For, "Selecting an IP address".
func TestVisitor(t *testing.T) {
	t.Parallel()
	behind := web.Place{Origin: "https://journal.example.org", Proxies: []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32"), netip.MustParsePrefix("10.0.0.0/8")}}
	for _, c := range []struct {
		name   string
		place  web.Place
		remote string
		tls    bool
		header http.Header
		ip     string
		https  bool
	}{
		{"alone", web.Place{}, "127.0.0.1:50000", false, nil, "127.0.0.1", false},
		{"by TLS", web.Place{Origin: "https://journal.example.org"}, "192.0.2.7:50000", true, nil, "192.0.2.7", true},
		{"IPv4 within IPv6", web.Place{}, "[::ffff:192.0.2.7]:50000", true, nil, "192.0.2.7", true},
		{"through a proxy", behind, "127.0.0.1:50000", false, http.Header{"X-Forwarded-For": {"192.0.2.7"}, "X-Forwarded-Proto": {"https"}}, "192.0.2.7", true},
		{"through two", behind, "127.0.0.1:50000", false, http.Header{"X-Forwarded-For": {"192.0.2.7, 10.1.1.1"}, "X-Forwarded-Proto": {"https"}}, "192.0.2.7", true},
		{"with a forged beginning", behind, "127.0.0.1:50000", false, http.Header{"X-Forwarded-For": {"198.51.100.1, 192.0.2.7"}, "X-Forwarded-Proto": {"https"}}, "192.0.2.7", true},
		{"in several lines", behind, "127.0.0.1:50000", false, http.Header{"X-Forwarded-For": {"198.51.100.1", "192.0.2.7"}, "X-Forwarded-Proto": {"https"}}, "192.0.2.7", true},
		{"with nonsense", behind, "127.0.0.1:50000", false, http.Header{"X-Forwarded-For": {"192.0.2.7, unknown"}, "X-Forwarded-Proto": {"https"}}, "127.0.0.1", true},
		{"by plain http", behind, "127.0.0.1:50000", false, http.Header{"X-Forwarded-For": {"192.0.2.7"}, "X-Forwarded-Proto": {"http"}}, "192.0.2.7", false},
		{"with a forged way", behind, "127.0.0.1:50000", false, http.Header{"X-Forwarded-For": {"192.0.2.7"}, "X-Forwarded-Proto": {"https, http"}}, "192.0.2.7", false},
		{"by a stranger", behind, "198.51.100.9:50000", false, http.Header{"X-Forwarded-For": {"192.0.2.7"}, "X-Forwarded-Proto": {"https"}}, "198.51.100.9", false},
		{"by a stranger where no proxy is named", web.Place{}, "127.0.0.1:50000", false, http.Header{"X-Forwarded-For": {"192.0.2.7"}, "X-Forwarded-Proto": {"https"}}, "127.0.0.1", false},
	} {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.RemoteAddr = c.remote
		r.Header = c.header
		if r.TLS = nil; c.tls {
			r.TLS = &tls.ConnectionState{}
		}
		if ip, https := c.place.Visitor(r); ip.String() != c.ip || https != c.https {
			t.Errorf("%s: %s, https %v; want %s, %v", c.name, ip, https, c.ip, c.https)
		}
	}
}

func TestNoPublicPlaceWithoutADoor(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	if _, err := web.New(s.Store, web.Options{Place: web.Place{Origin: "https://journal.example.org"}}); err == nil {
		t.Error("everybody is let in by a public name")
	}
}
