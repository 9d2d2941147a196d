package web_test

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"sync"
	"testing"
	"time"

	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
	"rigtally/web"
	"rigtally/web/webtest"
)

// Ensure that nothing waits for a second connection while it holds one, which would stand still for good where all are
// held so: every page and some saves, asked by many at once over two connections, of which an outfit has one.
func TestTwoConnectionsAreEnough(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	database := pgtest.NewDatabase(t)
	store, err := pg.Open(ctx, pg.WithConnections(database, 2))
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	season := demo.Generate(demo.Seed, 40)
	if _, err := demo.Fill(ctx, store, season); err != nil {
		t.Fatal(err)
	}
	server := webtest.Got(web.New(store, web.Options{}))(t)
	ts := httptest.NewServer(server.Handler())
	defer ts.Close()
	site := &webtest.Site{T: t, Database: database, Store: store, Server: server, URL: ts.URL, Client: ts.Client()}
	pages, _ := webtest.Walk(site)
	addresses := slices.Sorted(func(yield func(string) bool) {
		for _, address := range pages {
			if !yield(address) {
				return
			}
		}
	})
	server = webtest.Got(web.New(store, web.Options{}))(t) // one that keeps nothing from the walk
	handler := server.Handler()
	var work sync.WaitGroup
	for client := range 16 {
		work.Go(func() {
			for i := range addresses {
				if i%4 != client%4 { // four clients at each
					continue
				}
				r := httptest.NewRequestWithContext(ctx, http.MethodGet, "http://localhost"+addresses[(i+client)%len(addresses)], nil)
				w := httptest.NewRecorder()
				handler.ServeHTTP(w, r)
				if w.Code >= 400 && w.Code != http.StatusServiceUnavailable { // too many at once is an answer, too
					t.Errorf("%s: status %d", r.URL, w.Code)
				}
			}
			session := season.Sessions[client]
			session.Notes = fmt.Sprintf("client %d", client)
			held, err := store.SessionByID(ctx, session.ID)
			session.Version = held.Version
			if _, failed := store.SaveSession(ctx, session); cmp.Or(err, failed) != nil {
				t.Errorf("client %d saves: %v", client, cmp.Or(err, failed))
			}
		})
	}
	work.Wait()
	if ctx.Err() != nil {
		t.Fatal("it stands still")
	}
}
