package page_test

import (
	"context"
	"fmt"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal"
	"rigtally/journal/pg"
	"rigtally/web/page"
	"rigtally/web/webtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m, pg.Migrate)) }

// Equal questions asked at once are worked out once; asked again they are at hand, until
// something is written.
func TestEqualQuestionsAreWorkedOutOnce(t *testing.T) {
	t.Parallel()
	s := webtest.New(t)
	desk := s.Server.Desk.For(s.Store)
	var worked atomic.Int32
	release := make(chan struct{})
	ask := func(what string) (int, error) {
		return page.Ask(t.Context(), desk, what, func(context.Context) (int, error) {
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
	id := journal.NewID()
	if err := s.Store.SaveAngler(t.Context(), journal.Angler{ID: id, Name: "Invented", Kind: "client", Active: true}); err != nil {
		t.Fatal(err)
	}
	if _, err := ask("same"); err != nil || worked.Load() != 2 {
		t.Errorf("after a change it was worked out %d times, %v", worked.Load(), err)
	}
}

// A panic while something is worked out reaches whoever waits for it, and nothing is kept of it.
func TestAPanicReachesThoseWhoWait(t *testing.T) {
	t.Parallel()
	k := page.Kept[int]{Most: 2, Size: func(int) int { return 1 }}
	func() {
		defer func() {
			if p := recover(); p == nil || !strings.Contains(fmt.Sprint(p), "secret cause") {
				t.Errorf("recovered %v", p)
			}
		}()
		_, _ = k.Get(t.Context(), "what", "1", func(context.Context) (int, error) { panic("secret cause") })
	}()
	worked := 0
	get := func(key, tag string) {
		n, err := k.Get(t.Context(), key, tag, func(context.Context) (int, error) { worked++; return 7, nil })
		if n != 7 || err != nil {
			t.Errorf("%s of %s: %d, %v", key, tag, n, err)
		}
	}
	for _, of := range []struct {
		key, tag string
		worked   int
	}{{"a", "1", 1}, {"b", "1", 2}, {"a", "1", 2}, {"c", "1", 3}, {"a", "1", 3}, {"b", "1", 4}, {"a", "2", 5}, {"b", "2", 6}, {"a", "2", 6}, {"a", "1", 7}} {
		if get(of.key, of.tag); worked != of.worked {
			t.Errorf("%s of %s: worked out %d times, want %d", of.key, of.tag, worked, of.worked)
		}
	}
}
