package web

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"os"
	"runtime/debug"
	"strings"
	"time"

	"rigtally/web/page"
)

// answers makes an action one whose answer follows from its address, the journal
// and the day alone. It is tagged with the journal's revision, so that a browser
// that has it already is told that nothing has changed, and nothing is computed.
// One that shows rivers follows from what gauges read, too.
func (s *room) answers(act page.Action, rivers bool) page.Action {
	return func(w http.ResponseWriter, r *http.Request) error {
		revision, err := s.Store.Revision(r.Context())
		if err != nil {
			return err
		}
		// Figures say when they were made. Compressed or not, it is the same: hence a weak tag.
		made := fmt.Sprintf("%d-%s-%s", revision, s.Now().Format("060102"), s.server.build)
		tag, key := `W/"`+made+`"`, r.URL.RequestURI()
		if rivers {
			stamp, err := s.Store.ReadingsStamp(r.Context())
			if err != nil {
				return err
			}
			tag, key = fmt.Sprintf(`W/"%s-%d"`, made, stamp), fmt.Sprint(key, " ", stamp)
		}
		// The journal's revision counts what others write too, so a client's pages are tagged by what they say.
		if !s.Store.Who().IsClient() && unchanged(w, r, tag) {
			return nil
		}
		return s.serveKept(w, r, key, made, tag, act)
	}
}

// unchanged answers a browser that holds what has a tag already.
func unchanged(w http.ResponseWriter, r *http.Request, tag string) bool {
	if !holds(r.Header.Values("If-None-Match"), tag) {
		return false
	}
	tagged(w, tag)
	w.WriteHeader(http.StatusNotModified)
	return true
}

// tagged puts a tag on an answer; none is on a refusal or failure.
func tagged(w http.ResponseWriter, tag string) {
	w.Header().Set("ETag", tag)
	w.Header().Set("Cache-Control", "private, no-cache")
}

// holds compares tags weakly, as RFC 9110, 13.1.2, has it for If-None-Match.
func holds(headers []string, tag string) bool {
	for part := range strings.SplitSeq(strings.Join(headers, ","), ",") {
		part = strings.TrimSpace(part)
		if part == "*" || strings.TrimPrefix(part, "W/") == strings.TrimPrefix(tag, "W/") {
			return true
		}
	}
	return false
}

// buildTag tells builds of the program apart: another one may write another page.
func buildTag() string {
	hash := sha256.New()
	if info, ok := debug.ReadBuildInfo(); ok {
		fmt.Fprint(hash, info)
	}
	// What was built without its commit is told apart by the file.
	if path, err := os.Executable(); err == nil {
		if file, err := os.Stat(path); err == nil {
			fmt.Fprint(hash, file.Size(), file.ModTime().Format(time.RFC3339Nano))
		}
	}
	return hex.EncodeToString(hash.Sum(nil)[:6])
}
