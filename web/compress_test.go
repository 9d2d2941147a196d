package web_test

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"rigtally/web/webtest"
)

// raw answers a request as it goes over the wire.
func raw(s *webtest.Site, path string, header http.Header) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodGet, "http://localhost"+path, nil)
	for name, values := range header {
		r.Header[name] = values
	}
	w := httptest.NewRecorder()
	s.Server.Handler().ServeHTTP(w, r)
	return w
}

func TestPagesAndFilesAreCompressed(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	s.Fish()
	for _, path := range []string{"/", "/findings", "/findings.json", s.Server.Asset("base.css"), s.Server.Asset("chart/page.js")} {
		plain := raw(s, path, nil)
		packed := raw(s, path, http.Header{"Accept-Encoding": {"gzip, deflate, br"}})
		if plain.Header().Get("Content-Encoding") != "" || packed.Header().Get("Content-Encoding") != "gzip" {
			t.Errorf("%s: encoded %q unasked and %q asked", path, plain.Header().Get("Content-Encoding"), packed.Header().Get("Content-Encoding"))
			continue
		}
		if !strings.Contains(packed.Header().Get("Vary"), "Accept-Encoding") {
			t.Errorf("%s: a cache may mix the two up", path)
		}
		gz, err := gzip.NewReader(packed.Body)
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(gz)
		if err != nil || string(text) != plain.Body.String() {
			t.Errorf("%s: %d bytes compressed, %d plain, and not alike (%v)", path, len(text), plain.Body.Len(), err)
		}
	}
}

func TestFilesAreKept(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	at := s.Server.Asset("base.css")
	first := raw(s, at, nil)
	tag := first.Header().Get("ETag")
	if tag == "" || !strings.Contains(first.Header().Get("Cache-Control"), "immutable") {
		t.Fatalf("headers %v", first.Header())
	}
	again := raw(s, at, http.Header{"If-None-Match": {tag}})
	if again.Code != http.StatusNotModified || again.Body.Len() > 0 {
		t.Errorf("asked again: status %d with %d bytes", again.Code, again.Body.Len())
	}
}
