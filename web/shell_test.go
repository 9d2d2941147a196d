package web

import (
	"encoding/json"
	"maps"
	"net/http"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// What the worker keeps is served, page by page and file by file: one that is
// missing would keep the whole worker from being installed.
func TestWorkerKeepsWhatIsServed(t *testing.T) {
	t.Parallel()
	b := newBook(t)
	got := b.get("/sw.js")
	if got.status != http.StatusOK || !strings.HasPrefix(got.header.Get("Content-Type"), "text/javascript") || got.header.Get("Cache-Control") != "no-cache" {
		t.Fatalf("status %d, %v", got.status, got.header)
	}
	list, _, ok := strings.Cut(strings.TrimPrefix(got.body, "const KEEP = "), ";\n")
	var keep struct {
		Version      string
		Pages, Files []string
	}
	if err := json.Unmarshal([]byte(list), &keep); !ok || err != nil || keep.Version == "" || len(keep.Pages) != len(shellTemplates) {
		t.Fatalf("%s: %v", list, err)
	}
	for _, address := range append(keep.Pages, keep.Files...) {
		if got := b.get(address); got.status != http.StatusOK {
			t.Errorf("%s: status %d", address, got.status)
		}
	}
	for _, page := range keep.Pages {
		for _, file := range staticAddress.FindAllString(b.get(page).body, -1) {
			if !strings.Contains(list, file) {
				t.Errorf("%s uses %s, which is not kept", page, file)
			}
		}
	}
	// Today's own files are kept too, for its copy.
	for _, file := range staticAddress.FindAllString(b.get("/").body, -1) {
		if !strings.Contains(list, file) {
			t.Errorf("Today uses %s, which is not kept", file)
		}
	}
}

// Any change of what is kept makes another worker, which browsers then take.
func TestWorkerChangesWithWhatItKeeps(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	worker := func(script, css string) string {
		from := fstest.MapFS{"static/" + workerFile: {Data: []byte(script)}, "static/log/log.css": {Data: []byte(css)}, "static/log/live.js": {Data: []byte("1")}}
		a, err := loadAssets(from)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.server.keepShell(from, a.url, slices.Sorted(maps.Keys(a.byName))); err != nil {
			t.Fatal(err)
		}
		return string(s.server.shell.worker)
	}
	if first := worker("a", "b"); first != worker("a", "b") || first == worker("a", "c") || first == worker("c", "b") {
		t.Error("the worker does not follow what it keeps")
	}
}

func TestManifest(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	var m struct {
		Name, Display string
		StartURL      string `json:"start_url"`
		Icons         []struct{ Src, Sizes string }
	}
	got := s.get("/manifest.webmanifest")
	if err := json.Unmarshal([]byte(got.body), &m); err != nil || got.header.Get("Content-Type") != "application/manifest+json" || m.StartURL != "/" || m.Display != "standalone" {
		t.Fatalf("%s, %v", got.body, err)
	}
	for _, icon := range m.Icons {
		if s.get(icon.Src).status != http.StatusOK {
			t.Errorf("no icon at %s", icon.Src)
		}
	}
	if !strings.Contains(s.get("/").body, `rel="manifest" href="/manifest.webmanifest"`) {
		t.Error("no page names the manifest")
	}
}
