package web_test

import (
	"net/http"
	"strings"
	"testing"

	"rigtally/web"
	"rigtally/web/webtest"
)

func TestOnlyOurHost(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	port := s.URL[strings.LastIndex(s.URL, ":")+1:]
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
		r := s.Request(http.MethodGet, "/", nil)
		r.Host = host
		if got := s.Do(r); got.Status != want {
			t.Errorf("Host %s: status %d, want %d", host, got.Status, want)
		}
	}
}

func TestWritesComeFromOurPages(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	for _, h := range []struct{ name, value string }{
		{"Sec-Fetch-Site", "cross-site"},
		{"Sec-Fetch-Site", "same-site"},
		{"Origin", "https://elsewhere.example"},
		{"Origin", "null"},
	} {
		r := s.Request(http.MethodPost, "/settings", nil)
		r.Header.Set(h.name, h.value)
		if got := s.Do(r); got.Status != http.StatusForbidden || !strings.Contains(got.Body, "nothing was saved") {
			t.Errorf("%s %s: status %d", h.name, h.value, got.Status)
		}
	}
}

func TestSecureHeaders(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	for _, path := range []string{"/", "/none"} {
		h := s.Get(path).Header
		for name, want := range map[string]string{
			"Content-Security-Policy": web.ContentPolicy,
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
