package page_test

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"rigtally/journal"
	"rigtally/web/page"
	"rigtally/web/webtest"
)

// A failure shows a reference and nothing of its cause, which the log has.
func TestFailuresShowOnlyAReference(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	for name, act := range map[string]page.Action{
		"error": func(http.ResponseWriter, *http.Request) error { return errors.New("secret cause") },
		"panic": func(http.ResponseWriter, *http.Request) error { panic("secret cause") },
	} {
		w := httptest.NewRecorder()
		s.Server.Handle(act).ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/", nil))
		body := w.Body.String()
		if w.Code != http.StatusInternalServerError || strings.Contains(body, "secret") || strings.Contains(body, "goroutine") {
			t.Errorf("%s: status %d\n%s", name, w.Code, body)
		}
		reference := regexp.MustCompile(`<code>([0-9a-f]{12})</code>`).FindStringSubmatch(body)
		if reference == nil || !strings.Contains(s.Log.String(), "reference="+reference[1]) || !strings.Contains(s.Log.String(), "secret cause") {
			t.Errorf("%s: reference %v; the log: %s", name, reference, s.Log)
		}
	}
}

// What was typed while the database was away is on the page that says so, ready to be sent again, but no passphrase.
func TestWhatWasTypedStays(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	for body, again := range map[string]bool{
		"notes=Hail+%22from+noon%22&fly.1.tag=150&fly.1.tag=165": true,
		"account=ada&passphrase=correct+horse":                   false,
	} {
		for _, why := range []error{journal.ErrAway, journal.ErrUnsure} {
			r := httptest.NewRequest(http.MethodPost, "/log?from=today", strings.NewReader(body))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			w := httptest.NewRecorder()
			s.Server.Handle(func(http.ResponseWriter, *http.Request) error { return fmt.Errorf("save: %w", why) }).ServeHTTP(w, r)
			got := w.Body.String()
			if w.Code != http.StatusServiceUnavailable || w.Header().Get("Retry-After") == "" {
				t.Errorf("%v: status %d, %v", why, w.Code, w.Header())
			}
			for _, part := range []string{`<form method="post" action="/log?from=today">`, `name="notes" value="Hail &#34;from noon&#34;"`, `name="fly.1.tag" value="150"`, `name="fly.1.tag" value="165"`} {
				if strings.Contains(got, part) != again {
					t.Errorf("%v, %s: %s is %v\n%s", why, body, part, !again, got)
				}
			}
			if strings.Contains(got, "correct horse") || strings.Contains(got, "Nothing that you sent is saved") != (again && why == journal.ErrAway) {
				t.Errorf("%v: it says\n%s", why, got)
			}
		}
	}
}
