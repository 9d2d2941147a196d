package page_test

import (
	"context"
	"os"
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
	var worked atomic.Int32
	release := make(chan struct{})
	ask := func(what string) (int, error) {
		return page.Ask(t.Context(), s.Server.Desk, what, func(context.Context) (int, error) {
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
	if err := s.Store.SaveAngler(t.Context(), journal.Angler{ID: id, Name: "Invented", Kind: "client", Active: true}); err != nil {
		t.Fatal(err)
	}
	if _, err := ask("same"); err != nil || worked.Load() != 2 {
		t.Errorf("after a change it was worked out %d times, %v", worked.Load(), err)
	}
}
