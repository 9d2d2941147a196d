package web

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/pg"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// site is the web pages over a journal of one test.
type site struct {
	t      testing.TB
	store  *pg.Store
	server *Server
	url    string
	log    *strings.Builder
	http   *http.Client
}

// newSite serves the pages of an empty journal in a PostgreSQL of its own.
func newSite(t testing.TB) *site {
	t.Helper()
	store, err := pg.Open(t.Context(), pgtest.NewDatabase(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	log := &strings.Builder{}
	server, err := New(store, Options{Logger: slog.New(slog.NewTextHandler(log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	ts := httptest.NewServer(server.Handler())
	t.Cleanup(ts.Close)
	client := ts.Client()
	client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &site{t: t, store: store, server: server, url: ts.URL, log: log, http: client}
}

// answer is what a page answered.
type answer struct {
	status int
	body   string
	header http.Header
}

func (s *site) do(r *http.Request) answer {
	s.t.Helper()
	res, err := s.http.Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return answer{res.StatusCode, string(body), res.Header}
}

func (s *site) request(method, path string, body io.Reader) *http.Request {
	s.t.Helper()
	r, err := http.NewRequestWithContext(s.t.Context(), method, s.url+path, body)
	if err != nil {
		s.t.Fatal(err)
	}
	return r
}

func (s *site) get(path string) answer {
	s.t.Helper()
	return s.do(s.request(http.MethodGet, path, nil))
}

func (s *site) post(path string, form url.Values) answer {
	s.t.Helper()
	r := s.request(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return s.do(r)
}

func mustZone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}
