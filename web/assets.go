package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"maps"
	"mime"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"

	"rigtally/analytics/season"

	"rigtally/internal/units"
	"rigtally/web/page"
	"rigtally/web/seasons"
)

// files holds templates and static files. Bundles that npm builds are taken in
// when they were there at build time.
//
//go:embed templates static openapi.yaml
var files embed.FS

// WriteSeason writes the review of a season, with a note of whoever hands it over, as one HTML file, as its page
// offers it.
func WriteSeason(w io.Writer, a season.Answer, sys units.System, note string) error {
	return seasons.WriteFile(w, files, a, sys, note)
}

// asset is a static file as it is served.
type asset struct {
	hash, contentType string
	content           []byte
}

// assets serves static files under addresses that hold a hash of their content,
// so that a browser may keep them for ever. The files of a folder share a hash,
// so that a module finds its neighbours by a relative address.
type assets struct{ byName map[string]asset }

func loadAssets(from fs.FS) (*assets, error) {
	a := &assets{byName: map[string]asset{}}
	err := fs.WalkDir(from, "static", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		content, err := fs.ReadFile(from, name)
		if err != nil {
			return err
		}
		a.add(strings.TrimPrefix(name, "static/"), content)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read the static files: %w", err)
	}
	a.shareHashes()
	a.nameFonts()
	return a, nil
}

func (a *assets) add(name string, content []byte) {
	sum := sha256.Sum256(content)
	a.byName[name] = asset{hash: hex.EncodeToString(sum[:8]), contentType: contentType(name), content: content}
}

var fontURL = regexp.MustCompile(`url\("(vendor/[^"]+)"\)`)

// nameFonts writes the addresses of fonts, which hold their hash, into fonts.css.
func (a *assets) nameFonts() {
	const sheet = "fonts.css"
	if f, ok := a.byName[sheet]; ok {
		a.add(sheet, fontURL.ReplaceAllFunc(f.content, func(m []byte) []byte {
			return []byte(`url("` + a.url(string(fontURL.FindSubmatch(m)[1])) + `")`)
		}))
	}
}

// shareHashes gives the files of each folder one hash of all of them.
func (a *assets) shareHashes() {
	sums := map[string]hash.Hash{}
	names := slices.Sorted(maps.Keys(a.byName))
	for _, name := range names {
		if folder := path.Dir(name); folder != "." && !strings.HasPrefix(folder, "vendor") {
			if sums[folder] == nil {
				sums[folder] = sha256.New()
			}
			fmt.Fprintln(sums[folder], name, a.byName[name].hash)
		}
	}
	for _, name := range names {
		if sum := sums[path.Dir(name)]; sum != nil {
			f := a.byName[name]
			f.hash = hex.EncodeToString(sum.Sum(nil)[:8])
			a.byName[name] = f
		}
	}
}

// contentType does not ask the machine, whose tables may be missing or changed.
func contentType(name string) string {
	switch path.Ext(name) {
	case ".css":
		return "text/css; charset=utf-8"
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".woff2":
		return "font/woff2"
	case ".svg":
		return "image/svg+xml"
	case ".json", ".map":
		return "application/json"
	case ".webmanifest":
		return "application/manifest+json"
	}
	if t := mime.TypeByExtension(path.Ext(name)); t != "" {
		return t
	}
	return "application/octet-stream"
}

// url returns the address of a static file, "" when it was not built in.
func (a *assets) url(name string) string {
	f, ok := a.byName[name]
	if !ok {
		return ""
	}
	return "/static/" + f.hash + "/" + name
}

func (a *assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	f, ok := a.byName[r.PathValue("path")]
	if !ok || f.hash != r.PathValue("hash") {
		http.Error(w, "No such file. Reload the page that asked for it.", http.StatusNotFound)
		return
	}
	h := w.Header()
	if !strings.HasPrefix(f.contentType, "image/svg") {
		for _, name := range []string{"Content-Security-Policy", "Referrer-Policy", "Cross-Origin-Opener-Policy", "X-Request-Id"} { // which mean something on documents, and weigh on a slow line
			h.Del(name)
		}
	}
	h.Set("Content-Type", f.contentType)
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	h.Set("ETag", `"`+f.hash+`"`)
	if slices.Contains(strings.Split(r.Header.Get("If-None-Match"), ", "), `"`+f.hash+`"`) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	_, _ = w.Write(f.content) // a browser that went away is no failure
}

// icon answers with the app's icon of a size, whose address phones keep without a hash.
func (s *Server) icon(name string) page.Action {
	return func(w http.ResponseWriter, _ *http.Request) error {
		w.Header().Set("Content-Type", "image/png")
		w.Header().Set("Cache-Control", "public, max-age=86400")
		_, _ = w.Write(s.assets.byName[name].content) // a browser that went away is no failure
		return nil
	}
}
