package web_test

import (
	"context"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

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

func TestServeEndsInOrder(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Server.Serve(ctx, l) }()
	res, err := http.Get("http://" + l.Addr().String() + "/")
	if err != nil {
		t.Fatal(err)
	}
	if err := res.Body.Close(); err != nil {
		t.Error(err)
	}
	if res.StatusCode != http.StatusOK {
		t.Errorf("status %d", res.StatusCode)
	}
	stop()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(time.Minute):
		t.Error("the server did not end")
	}
	if _, err := net.Dial("tcp", l.Addr().String()); err == nil {
		t.Error("the port still answers")
	}
}
