package web

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"rigtally/journal/demo"
)

// more are addresses that a page can have beside its plain one, where it shows
// something else.
var more = []string{
	"/findings?outcome=junction-break&by=junction", "/findings?outcome=tangles&by=bulk&by=stroke", "/findings?outcome=tangles&by=junction&given=angler&given=water",
	"/curve?outcome=tangles&given=angler&given=water&given=bulk", "/sessions?season=1999", "/bench?by=facing&where=junction=figure-eight",
}

var walked = regexp.MustCompile(`(?:href|action)="(/[^"#]*)`)

// walk follows the links of the pages until it has been at every row of the
// routes, and returns the address of a page for each that answers with one. A row
// that it finds no way to is missing.
func walk(s *site) (pages map[string]string, missing []string) {
	s.t.Helper()
	mux := http.NewServeMux()
	for _, p := range s.server.Pages() {
		mux.Handle("GET "+p, http.NotFoundHandler())
	}
	pattern := func(address string) string {
		u, err := url.Parse(address)
		if err != nil {
			return ""
		}
		_, p := mux.Handler(&http.Request{Method: http.MethodGet, URL: u, Host: "localhost"})
		return p
	}
	addresses := map[string]string{}
	pages = map[string]string{}
	var todo []string
	visit := func(address string) {
		if p := pattern(address); p != "" && addresses[p] == "" {
			addresses[p] = address
			todo = append(todo, address)
		}
	}
	for _, p := range s.server.Pages() { // a plain address needs no link
		if !strings.Contains(p, "{id") {
			visit(strings.TrimSuffix(p, "{$}"))
		}
	}
	for len(todo) > 0 {
		got := s.get(todo[0])
		if got.status >= http.StatusInternalServerError {
			s.t.Errorf("%s: status %d", todo[0], got.status)
		}
		if got.status == http.StatusOK && strings.HasPrefix(got.header.Get("Content-Type"), "text/html") && got.header.Get("Content-Disposition") == "" {
			pages[pattern(todo[0])] = todo[0]
		}
		todo = todo[1:]
		for _, m := range walked.FindAllStringSubmatch(got.body, -1) {
			visit(html.UnescapeString(m[1]))
		}
	}
	for _, p := range s.server.Pages() {
		if addresses["GET "+p] == "" {
			missing = append(missing, "GET "+p)
		}
	}
	return pages, missing
}

// smallSeason is a site with a small invented season, which has something for every page.
func smallSeason(t testing.TB, sessions int) *site {
	t.Helper()
	s := newSite(t)
	invented := demo.Generate(demo.Seed, sessions)
	err := demo.Load(t.Context(), s.store, invented)
	if err == nil {
		_, err = demo.PlayTrial(t.Context(), s.store, invented, demo.TrialSeed, demo.TrialSessions)
	}
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Links lead to every row of the routes that answers GET, so that none can be
// left out of what is checked page by page.
func TestLinksLeadToEveryPage(t *testing.T) {
	t.Parallel()
	_, missing := walk(smallSeason(t, 60))
	for _, p := range missing {
		t.Errorf("no link of any page leads to %s", p)
	}
}
