package page_test

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

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
