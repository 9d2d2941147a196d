package web

import (
	"net/http"
	"strings"
	"testing"
)

func TestOnlyOurHost(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	port := s.url[strings.LastIndex(s.url, ":")+1:]
	for host, want := range map[string]int{
		"127.0.0.1:" + port:       http.StatusOK,
		"localhost:" + port:       http.StatusOK,
		"[::1]:" + port:           http.StatusOK,
		"localhost":               http.StatusMisdirectedRequest,
		"localhost:1":             http.StatusMisdirectedRequest,
		"192.0.2.7:" + port:       http.StatusMisdirectedRequest,
		"journal.example:" + port: http.StatusMisdirectedRequest,
		"localhost.evil.example":  http.StatusMisdirectedRequest,
	} {
		r := s.request(http.MethodGet, "/", nil)
		r.Host = host
		if got := s.do(r); got.status != want {
			t.Errorf("Host %s: status %d, want %d", host, got.status, want)
		}
	}
}

func TestWritesComeFromOurPages(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	for _, h := range []struct{ name, value string }{
		{"Sec-Fetch-Site", "cross-site"},
		{"Sec-Fetch-Site", "same-site"},
		{"Origin", "https://elsewhere.example"},
		{"Origin", "null"},
	} {
		r := s.request(http.MethodPost, "/settings", nil)
		r.Header.Set(h.name, h.value)
		if got := s.do(r); got.status != http.StatusForbidden || !strings.Contains(got.body, "nothing was saved") {
			t.Errorf("%s %s: status %d", h.name, h.value, got.status)
		}
	}
}

func TestSecureHeaders(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	for _, path := range []string{"/", "/none"} {
		h := s.get(path).header
		for name, want := range map[string]string{
			"Content-Security-Policy": contentPolicy,
			"X-Content-Type-Options":  "nosniff",
			"Referrer-Policy":         "same-origin",
			"Cache-Control":           "no-store",
		} {
			if got := h.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", path, name, got, want)
			}
		}
	}
}
