package web

import (
	"context"
	"strings"
	"sync"

	"rigtally/analytics"
)

// keptSeasons holds the reviews asked for last, each as long as nothing has been
// written: a page is followed by its file, its figures and their numbers, and all
// of them are one review.
type keptSeasons struct {
	mu   sync.Mutex
	list []keptSeason // the last used last
}

type keptSeason struct {
	ask     analytics.SeasonRequest
	written int64 // the journal's revision before it was reviewed
	answer  analytics.SeasonAnswer
}

const mostKept = 12

// find returns the review of a request at a state of the journal.
func (k *keptSeasons) find(ask analytics.SeasonRequest, written int64) (analytics.SeasonAnswer, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, kept := range k.list {
		if kept.ask == ask && kept.written == written {
			return kept.answer, true
		}
	}
	return analytics.SeasonAnswer{}, false
}

// keep puts a review in the place of an older one, or of the oldest of many.
func (k *keptSeasons) keep(review keptSeason) {
	k.mu.Lock()
	defer k.mu.Unlock()
	list := k.list[:0:0]
	for _, kept := range k.list {
		if kept.ask != review.ask && kept.written == review.written {
			list = append(list, kept)
		}
	}
	if len(list) >= mostKept {
		list = list[1:]
	}
	k.list = append(list, review)
}

// seasonOf reviews a season, or hands out the review that is kept. An answer is
// never changed once it is there: Share makes another.
func (s *Server) seasonOf(ctx context.Context, ask analytics.SeasonRequest) (analytics.SeasonAnswer, error) {
	ask.Angler = strings.ToLower(ask.Angler)
	written, err := s.store.Revision(ctx)
	known := err == nil // else it is reviewed each time
	if known {
		if a, ok := s.seasons.find(ask, written); ok {
			return a, nil
		}
	}
	a, err := analytics.Season(ctx, s.store, ask)
	if err == nil && known {
		s.seasons.keep(keptSeason{ask, written, a})
	}
	return a, err
}
