// Package webtest serves the pages of invented journals to tests.
package webtest

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"rigtally/analytics/quality"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/door"
)

func (b *Book) Sessions(t *testing.T) int {
	t.Helper()
	_, n, err := b.Store.SessionLines(t.Context(), journal.SessionFilter{})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// APull is the form of a pull as a person fills it in.
func APull(t testing.TB, force, ended string) url.Values {
	t.Helper()
	return url.Values{"id": {NewID(t).String()}, "junction": {"figure-eight"}, "facing": {"down"}, "prop": {"none"}, "tippet": {"6X"}, "material": {"nylon"}, "pulled-on": {"tag"}, "wet": {"wet"},
		"scale": {"lbf"}, "day": {"2026-03-14"}, "label": {"spool A"}, "force": {force}, "ended": {ended}}
}

func (s *Site) Pulls() []journal.BenchPull {
	s.T.Helper()
	return Got(s.Store.BenchPulls(s.T.Context()))(s.T)
}

func (s *Site) Claims(t *testing.T) []journal.Claim {
	t.Helper()
	return Got(s.Store.Claims(t.Context()))(t)
}

// ClaimForm is a whole form of a claim on words.
func ClaimForm() url.Values {
	return url.Values{"new": {"yes"}, "do": {"save"}, "words": {"Loops tangle more than blood knots"}, "outcome": {"tangles"}, "factor": {"junction"}, "of": {"junction"},
		"direction": {"more"}, "level": {"perfection loop", "slip loop"}, "versus": {"blood"}, "given": {"angler", "tag-length:linear"}}
}

// Got is what a call came to, which must not have failed.
func Got[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func NewID(t testing.TB) journal.ID {
	t.Helper()
	return journal.NewID()
}

// CheckPage looks for what no page may hold.
func CheckPage(t *testing.T, page, body string) {
	t.Helper()
	for _, bad := range []string{"<style", " style=", "onclick", "<no value>", "ZgotmplZ", "%!", "NaN", "goroutine"} {
		if strings.Contains(body, bad) {
			t.Errorf("%s holds %q", page, bad)
		}
	}
	if !strings.Contains(body, "</html>") {
		t.Errorf("%s is cut short", page)
	}
}

// RunsLeft are the runs of which no count seems to have been kept.
func (s *Site) RunsLeft(t *testing.T) []quality.UncountedRun {
	t.Helper()
	return Got(quality.WhatWasCounted(t.Context(), s.Store))(t).Runs
}

// Site is the web pages over a journal of one test.
type Site struct {
	T        testing.TB
	Database string // its address
	Store    *pg.Store
	Server   *web.Server
	URL      string
	Log      *strings.Builder
	Client   *http.Client
}

// New serves the pages of an empty journal in a PostgreSQL of its own.
func New(t testing.TB) *Site {
	t.Helper()
	return NewAt(t, time.Now)
}

// NewAt is New with a clock of the test's own.
func NewAt(t testing.TB, now func() time.Time) *Site {
	t.Helper()
	return ServeWith(t, func(*pg.Store) web.Options { return web.Options{Now: now} })
}

// Behind serves an empty journal to whom a door of its own lets in.
func Behind(t testing.TB, doorOf func(*pg.Store) door.Door) *Site {
	t.Helper()
	return ServeWith(t, func(store *pg.Store) web.Options { return web.Options{Door: doorOf(store)} })
}

// ServeWith serves the pages of an empty journal as options say. Without a logger among them the log is the site's.
func ServeWith(t testing.TB, options func(*pg.Store) web.Options) *Site {
	t.Helper()
	database := pgtest.NewDatabase(t)
	store := Got(pg.Open(t.Context(), database))(t)
	t.Cleanup(store.Close)
	s := ServeOf(t, store, options(store))
	s.Database = database
	return s
}

// ServeOf is ServeWith for a store that is open.
func ServeOf(t testing.TB, store *pg.Store, opt web.Options) *Site {
	t.Helper()
	log := &strings.Builder{}
	if opt.Logger == nil {
		opt.Logger = slog.New(slog.NewTextHandler(log, nil))
	}
	opt.Address = Address
	server := Got(web.New(store, opt))(t)
	ts := httptest.NewServer(server.Handler())
	t.Cleanup(ts.Close)
	client := ts.Client()
	client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	return &Site{T: t, Store: store, Server: server, URL: ts.URL, Log: log, Client: client}
}

// Answer is what a page answered.
type Answer struct {
	Status int
	Body   string
	Header http.Header
}

func (s *Site) Do(r *http.Request) Answer {
	s.T.Helper()
	res := Got(s.Client.Do(r))(s.T)
	defer res.Body.Close()
	body := string(Got(io.ReadAll(res.Body))(s.T))
	if res.Header.Get("Content-Type") == "application/zip" {
		return Answer{res.StatusCode, body, res.Header}
	}
	return Answer{res.StatusCode, strings.ReplaceAll(body, "\u00a0", " "), res.Header} // a space that does not break is one for whoever looks for words
}

func (s *Site) Request(method, path string, body io.Reader) *http.Request {
	s.T.Helper()
	return Got(http.NewRequestWithContext(s.T.Context(), method, s.URL+path, body))(s.T)
}

func (s *Site) Get(path string) Answer {
	s.T.Helper()
	return s.Do(s.Request(http.MethodGet, path, nil))
}

func (s *Site) Post(path string, form url.Values) Answer {
	s.T.Helper()
	r := s.Request(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return s.Do(r)
}

func MustZone(t testing.TB, name string) *time.Location {
	t.Helper()
	return Got(time.LoadLocation(name))(t)
}
