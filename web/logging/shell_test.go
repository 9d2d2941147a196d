package logging_test

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"testing/fstest"

	"rigtally/web/logging"
	"rigtally/web/webtest"
)

// What the worker keeps is served, page by page and file by file: one that is
// missing would keep the whole worker from being installed.
func TestWorkerKeepsWhatIsServed(t *testing.T) {
	t.Parallel()
	b := webtest.NewBook(t)
	got := b.Get("/sw.js")
	if got.Status != http.StatusOK || !strings.HasPrefix(got.Header.Get("Content-Type"), "text/javascript") || got.Header.Get("Cache-Control") != "no-cache" {
		t.Fatalf("status %d, %v", got.Status, got.Header)
	}
	list, _, ok := strings.Cut(strings.TrimPrefix(got.Body, "const KEEP = "), ";\n")
	var keep struct {
		Version      string
		Pages, Files []string
	}
	if err := json.Unmarshal([]byte(list), &keep); !ok || err != nil || keep.Version == "" || len(keep.Pages) != len(logging.ShellTemplates) {
		t.Fatalf("%s: %v", list, err)
	}
	for _, address := range append(keep.Pages, keep.Files...) {
		if got := b.Get(address); got.Status != http.StatusOK {
			t.Errorf("%s: status %d", address, got.Status)
		}
	}
	for _, page := range keep.Pages {
		for _, file := range logging.StaticAddress.FindAllString(b.Get(page).Body, -1) {
			if !strings.Contains(list, file) {
				t.Errorf("%s uses %s, which is not kept", page, file)
			}
		}
	}
	// Today's own files are kept too, for its copy.
	for _, file := range logging.StaticAddress.FindAllString(b.Get("/").Body, -1) {
		if !strings.Contains(list, file) {
			t.Errorf("Today uses %s, which is not kept", file)
		}
	}
}

// Any change of what is kept makes another worker, which browsers then take.
func TestWorkerChangesWithWhatItKeeps(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	worker := func(script, css string) string {
		from := fstest.MapFS{"static/" + logging.WorkerFile: {Data: []byte(script)}, "static/log/log.css": {Data: []byte(css)}, "static/log/live.js": {Data: []byte("1")}}
		address := func(name string) string {
			content, err := from.ReadFile("static/" + name)
			if err != nil {
				return ""
			}
			return fmt.Sprintf("/static/%x/%s", sha256.Sum256(content), name)
		}
		l := logging.New(s.Server.Desk.For(s.Store))
		l.KeepShell(from, address, []string{"log/live.js", "log/log.css", logging.WorkerFile})
		return webtest.Got(l.Worker())(t)
	}
	if first := worker("a", "b"); first != worker("a", "b") || first == worker("a", "c") || first == worker("c", "b") {
		t.Error("the worker does not follow what it keeps")
	}
}

func TestManifest(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	var m struct {
		Name, Display string
		StartURL      string `json:"start_url"`
		Icons         []struct{ Src, Sizes string }
	}
	got := s.Get("/manifest.webmanifest")
	if err := json.Unmarshal([]byte(got.Body), &m); err != nil || got.Header.Get("Content-Type") != "application/manifest+json" || m.StartURL != "/" || m.Display != "standalone" {
		t.Fatalf("%s, %v", got.Body, err)
	}
	for _, icon := range m.Icons {
		if s.Get(icon.Src).Status != http.StatusOK {
			t.Errorf("no icon at %s", icon.Src)
		}
	}
	if !strings.Contains(s.Get("/").Body, `rel="manifest" href="/manifest.webmanifest"`) {
		t.Error("no page names the manifest")
	}
}
