package web

import (
	"context"
	"maps"
	"slices"

	"rigtally/journal"
)

// What tests of the pages need of the package.
const (
	ContentPolicy = contentPolicy
	MaxBody       = maxBody
)

// Patterns lists every address that is served, with its method.
func (s *Server) Patterns() []string {
	return slices.Sorted(maps.Keys(patterns(s.routesFor(journal.RoleOwner))))
}

// Asset is the address of a static file.
func (s *Server) Asset(name string) string { return s.assets.url(name) }

// Crowd takes every turn to make a page and every place to wait, until empty is called. It tells
// what one more is told.
func (s *Server) Crowd(ctx context.Context) (empty func(), told error) {
	l := &s.limit
	leave, err := l.enter(ctx)
	leaves := []func(){leave}
	for err == nil && len(leaves) < cap(l.turns) {
		leave, err = l.enter(ctx)
		leaves = append(leaves, leave)
	}
	if err != nil {
		return func() {}, err
	}
	for range mostWaiting {
		l.waiting <- struct{}{}
	}
	_, told = l.enter(ctx)
	return func() {
		for range mostWaiting {
			<-l.waiting
		}
		for _, leave := range leaves {
			leave()
		}
	}, told
}
