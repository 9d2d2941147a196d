package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"rigtally/journal"
)

// Equal questions asked at once are worked out once; asked again they are at hand, until
// something is written.
func TestEqualQuestionsAreWorkedOutOnce(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	var worked atomic.Int32
	release := make(chan struct{})
	ask := func(what string) (int, error) {
		return askOnce(t.Context(), s.server.desk, what, func(context.Context) (int, error) {
			worked.Add(1)
			<-release
			return len(what), nil
		})
	}
	var wait sync.WaitGroup
	for range 20 {
		wait.Go(func() {
			if n, err := ask("same"); n != 4 || err != nil {
				t.Errorf("got %d, %v", n, err)
			}
		})
	}
	for worked.Load() == 0 {
		if t.Context().Err() != nil {
			t.Fatal("nobody works on it")
		}
	}
	close(release)
	wait.Wait()
	if _, err := ask("same"); err != nil || worked.Load() != 1 {
		t.Errorf("worked out %d times, %v", worked.Load(), err)
	}
	id, err := journal.NewID()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.store.SaveAngler(t.Context(), journal.Angler{ID: id, Name: "Invented", Kind: "client", Active: true}); err != nil {
		t.Fatal(err)
	}
	if _, err := ask("same"); err != nil || worked.Load() != 2 {
		t.Errorf("after a change it was worked out %d times, %v", worked.Load(), err)
	}
}

// Beyond those who may wait, a page answers at once when to come again.
func TestTooManyQuestionsAreToldToComeAgain(t *testing.T) {
	t.Parallel()
	s := newSite(t)
	l := &s.server.pages.limit
	var leaves []func()
	leave, err := l.enter(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for leaves = []func(){leave}; len(leaves) < cap(l.turns); leaves = append(leaves, leave) {
		if leave, err = l.enter(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	for range mostWaiting {
		l.waiting <- struct{}{}
	}
	var b *busy
	if _, err := l.enter(t.Context()); !errors.As(err, &b) || b.seconds < 1 {
		t.Fatalf("got %v", err)
	}
	a := s.get("/findings?outcome=tangles&by=junction")
	if a.status != http.StatusServiceUnavailable || a.header.Get("Retry-After") == "" || !strings.Contains(a.body, "Too many people are asking at once") {
		t.Errorf("status %d, again after %q, %s", a.status, a.header.Get("Retry-After"), a.body)
	}
	for range mostWaiting {
		<-l.waiting
	}
	for _, leave := range leaves {
		leave()
	}
	if a := s.get("/findings?outcome=tangles&by=junction"); a.status != http.StatusOK {
		t.Errorf("afterwards status %d", a.status)
	}
}
