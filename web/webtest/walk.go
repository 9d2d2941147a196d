package webtest

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"

	"rigtally/web/page"
)

// More are addresses that a page can have beside its plain one, where it shows
// something else.
var More = []string{
	"/findings?outcome=junction-break&by=junction", "/findings?outcome=tangles&by=bulk&by=stroke", "/findings?outcome=tangles&by=junction&given=angler&given=water",
	"/curve?outcome=tangles&given=angler&given=water&given=bulk", "/sessions?season=1999", "/bench?by=facing&where=junction=figure-eight",
}

var walked = regexp.MustCompile(`(?:href|action)="(/[^"#]*)`)

// Walk follows the links of the pages until it has been at every row of the
// routes, and returns the address of a page for each that answers with one. A row
// that it finds no way to is missing.
func Walk(s *Site) (pages map[string]string, missing []string) {
	s.T.Helper()
	mux := http.NewServeMux()
	for _, p := range s.Server.Pages() {
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
	for _, p := range s.Server.Pages() { // a plain address needs no link
		if !strings.Contains(p, "{id") {
			visit(strings.TrimSuffix(p, "{$}"))
		}
	}
	for len(todo) > 0 {
		got := s.Get(todo[0])
		if got.Status >= http.StatusInternalServerError {
			s.T.Errorf("%s: status %d", todo[0], got.Status)
		}
		if got.Status == http.StatusOK && strings.HasPrefix(got.Header.Get("Content-Type"), "text/html") && got.Header.Get("Content-Disposition") == "" {
			pages[pattern(todo[0])] = todo[0]
		}
		todo = todo[1:]
		for _, m := range walked.FindAllStringSubmatch(got.Body, -1) {
			visit(html.UnescapeString(m[1]))
		}
	}
	for _, p := range s.Server.Pages() {
		if addresses["GET "+p] == "" && !strings.HasPrefix(p, page.Program) { // no page leads to what programs ask
			missing = append(missing, "GET "+p)
		}
	}
	return pages, missing
}
