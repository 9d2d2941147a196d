package web_test

import (
	"errors"
	"net/http"
	"strings"
	"testing"

	"rigtally/web/page"
	"rigtally/web/webtest"
)

// Beyond those who may wait, a page answers at once when to come again.
func TestTooManyQuestionsAreToldToComeAgain(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	empty, told := s.Server.Crowd(t.Context())
	var b *page.Busy
	if !errors.As(told, &b) || b.Seconds < 1 {
		t.Fatalf("got %v", told)
	}
	a := s.Get("/findings?outcome=tangles&by=junction")
	if a.Status != http.StatusServiceUnavailable || a.Header.Get("Retry-After") == "" || !strings.Contains(a.Body, "Too many people are asking at once") {
		t.Errorf("status %d, again after %q, %s", a.Status, a.Header.Get("Retry-After"), a.Body)
	}
	empty()
	if a := s.Get("/findings?outcome=tangles&by=junction"); a.Status != http.StatusOK {
		t.Errorf("afterwards status %d", a.Status)
	}
}
