package web_test

import (
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"

	"rigtally/web/page"
	"rigtally/web/webtest"
)

// Beyond those who may wait, a page answers at once when to come again.
func TestTooManyQuestionsAreToldToComeAgain(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	_, empty, told := s.Server.Crowd(t.Context(), s.Store.OutfitID())
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

// Ensure that an outfit's page is the next to be made, however many another outfit waits for: it takes the place of the last
// of these where there is none, and the first turn.
func TestOneOutfitDoesNotKeepAnotherWaiting(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	leave, empty, told := s.Server.Crowd(t.Context(), webtest.NewID(t))
	defer empty()
	if told == nil {
		t.Fatal("the crowd is not full")
	}
	answered := make(chan webtest.Answer)
	go func() { answered <- s.Get("/findings?outcome=tangles&by=junction") }()
	for s.Server.Waiting(s.Store.OutfitID()) == 0 {
		select {
		case a := <-answered:
			t.Fatalf("status %d before any turn was free", a.Status)
		case <-time.After(time.Millisecond):
		}
	}
	leave()
	if a := <-answered; a.Status != http.StatusOK {
		t.Errorf("status %d, %s", a.Status, a.Body)
	}
}
