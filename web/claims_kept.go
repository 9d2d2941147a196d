package web

import (
	"context"
	"sync"

	"rigtally/analytics"
	"rigtally/internal/units"
)

// keptBoard holds the board of claims asked for last, as long as nothing has been
// written: the page, its picture and its numbers are one board.
type keptBoard struct {
	mu      sync.Mutex
	sys     units.System
	written int64 // the journal's revision before it was judged
	board   analytics.BoardAnswer
}

// board judges the claims, or hands out the board that is kept, which nobody changes.
func (s *Server) board(ctx context.Context, sys units.System) (analytics.BoardAnswer, error) {
	written, err := s.store.Revision(ctx)
	known := err == nil // else it is judged each time
	k := &s.claimsKept
	if known {
		k.mu.Lock()
		kept, fits := k.board, k.written == written && k.sys == sys
		k.mu.Unlock()
		if fits {
			return kept, nil
		}
	}
	b, err := analytics.Claims(ctx, s.store, sys)
	if err == nil && known {
		k.mu.Lock()
		k.sys, k.written, k.board = sys, written, b
		k.mu.Unlock()
	}
	return b, err
}
