package logging

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"sync"

	"rigtally/web/page"
)

// shell is what a phone keeps to log without signal for one person: pages that hold nothing of the journal,
// the files that they use, and the service worker that hands them out.
type shell struct {
	pages  map[string][]byte // by path
	worker []byte
	sender string // address of the module that sends what waits
	icon   string // address of the drawing
}

// shellTemplates are the kept pages: path, template and title.
var shellTemplates = []struct{ path, template, title, tab string }{
	{"/live", "live", "Fishing now", "today"},
	{"/after", "after", "Log it afterwards", "today"},
	{"/waiting", "waiting", "Waiting to be sent", "sessions"},
	{"/offline", "offline", "No signal", ""},
	{"/expired", "expired", "Signed out", ""},
}

// shellPage is a page of the shell; what it shows comes from the phone itself.
type shellPage struct{ page.Frame }

var staticAddress = regexp.MustCompile(`/static/[0-9a-f]+/[^"')\s]+`)

// KeepShell has the kept pages filled and the worker for them written when they are first asked for. Its version is a
// hash of all that it keeps, so a new build replaces the whole of it at once. asset
// gives the address of a static file; names are all of them.
func (s *Pages) KeepShell(from fs.FS, asset func(name string) string, names []string) {
	s.shell = sync.OnceValues(func() (*shell, error) { return s.makeShell(from, asset, names) })
}

// CheckShell reports what is broken in the kept pages.
func (s *Pages) CheckShell() error {
	_, err := s.shell()
	return err
}

func (s *Pages) makeShell(from fs.FS, asset func(name string) string, names []string) (*shell, error) {
	made := &shell{pages: map[string][]byte{}, sender: asset("log/send.js"), icon: asset("icon.svg")}
	keep := struct {
		Version string   `json:"version"`
		Pages   []string `json:"pages"`
		Files   []string `json:"files"`
	}{Files: []string{"/manifest.webmanifest", "/icon-192.png"}}
	sum := sha256.New()
	for _, p := range shellTemplates {
		html, err := s.Fill(p.template, shellPage{page.Frame{Title: p.title, Tab: p.tab, Who: s.Store.Who()}})
		if err != nil {
			return nil, err
		}
		made.pages[p.path] = html
		sum.Write(html)
		keep.Pages = append(keep.Pages, p.path)
		keep.Files = append(keep.Files, staticAddress.FindAllString(string(html), -1)...)
	}
	for _, name := range names {
		if strings.HasPrefix(name, "log/") && name != workerFile || strings.HasSuffix(name, ".woff2") || name == "icon.svg" {
			keep.Files = append(keep.Files, asset(name))
		}
	}
	slices.Sort(keep.Files)
	keep.Files = slices.Compact(keep.Files)
	script, err := fs.ReadFile(from, "static/"+workerFile)
	if err != nil {
		return nil, fmt.Errorf("read the service worker: %w", err)
	}
	fmt.Fprintln(sum, keep.Files, string(script))
	keep.Version = hex.EncodeToString(sum.Sum(nil)[:8])
	list, err := json.Marshal(keep)
	if err != nil {
		return nil, fmt.Errorf("list what is kept on the phone: %w", err)
	}
	made.worker = fmt.Appendf(nil, "const KEEP = %s;\n%s", list, script)
	return made, nil
}

// workerFile is the service worker without the list of what it keeps.
const workerFile = "log/sw.js"

// shown answers with a page of the shell.
func (s *Pages) shown(w http.ResponseWriter, r *http.Request) error {
	shell, err := s.shell()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(shell.pages[r.URL.Path]) // a browser that went away is no failure
	return nil
}

// ServiceWorker answers with the worker, from the root so that it may serve every page. It is the same for everybody
// and holds nothing of a journal: a browser asks for it without saying who is there. Its address says for whom it
// works, so that another is installed when someone else signs in, and whether it sends in the background, which takes
// modules, and not every browser has those in a worker.
func (s *Pages) ServiceWorker(w http.ResponseWriter, r *http.Request) error {
	shell, err := s.shell()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	w.Header().Set("Cache-Control", "no-cache")
	if r.URL.Query().Has("sends") {
		fmt.Fprintf(w, "import { sendAll } from %q;\n", shell.sender)
	}
	_, _ = w.Write(shell.worker) // a browser that went away is no failure
	return nil
}

// manifest lets a phone put the journal on its home screen.
func (s *Pages) manifest(w http.ResponseWriter, _ *http.Request) error {
	shell, err := s.shell()
	if err != nil {
		return err
	}
	type icon struct {
		Src     string `json:"src"`
		Sizes   string `json:"sizes"`
		Type    string `json:"type"`
		Purpose string `json:"purpose,omitempty"`
	}
	text, err := json.Marshal(map[string]any{
		"name": "rigtally", "short_name": "rigtally", "description": "A journal of rigs and what happened to them.",
		"id": "/", "start_url": "/", "scope": "/", "display": "standalone", "lang": "en",
		"background_color": "#fffdf7", "theme_color": "#fffdf7",
		"icons": []icon{{"/icon-192.png", "192x192", "image/png", ""}, {"/icon-512.png", "512x512", "image/png", ""}, {"/icon-512.png", "512x512", "image/png", "maskable"},
			{shell.icon, "any", "image/svg+xml", ""}},
		"shortcuts": []map[string]string{{"name": "Start fishing now", "url": "/live"}, {"name": "Log it afterwards", "url": "/after"}},
	})
	if err != nil {
		return fmt.Errorf("write the manifest: %w", err)
	}
	w.Header().Set("Content-Type", "application/manifest+json")
	_, _ = w.Write(text)
	return nil
}
