package web

import (
	"context"
	"maps"
	"slices"
	"sync"
	"time"

	"rigtally/journal"
)

// What tests of the pages need of the package.
const (
	ContentPolicy = contentPolicy
	MaxBody       = maxBody
)

// AnswerIn changes how long a request may wait for its answer.
func (s *Server) AnswerIn(d time.Duration) { s.answerIn = d }

// Patterns lists every address that is served, with its method.
func (s *Server) Patterns() []string {
	return slices.Sorted(maps.Keys(patterns(s.routesFor(journal.RoleOwner))))
}

// Asset is the address of a static file.
func (s *Server) Asset(name string) string { return s.assets.url(name) }

// Crowd takes every turn to make a page and every place to wait for an outfit. It tells what one more of that is told;
// leave ends one of the turns, empty all of it.
func (s *Server) Crowd(ctx context.Context, outfit journal.ID) (leave, empty func(), told error) {
	l := s.limit
	ctx, cancel := context.WithCancel(ctx)
	var turns []func()
	for range l.queue.Turns {
		end, err := l.enter(ctx, outfit)
		if err != nil {
			cancel()
			return func() {}, func() {}, err
		}
		turns = append(turns, end)
	}
	var work sync.WaitGroup
	for range mostWaiting {
		work.Go(func() {
			if _, err := l.enter(ctx, outfit); err == nil { // and keeps the turn
				<-ctx.Done()
			}
		})
	}
	for l.queue.Waiting() < mostWaiting {
		time.Sleep(time.Millisecond)
	}
	_, told = l.enter(ctx, outfit)
	return turns[0], func() {
		cancel()
		work.Wait()
		for _, end := range turns[1:] {
			end()
		}
	}, told
}

// Waiting is how many wait for a turn of an outfit.
func (s *Server) Waiting(outfit journal.ID) int { return s.limit.queue.WaitingOf(outfit) }
