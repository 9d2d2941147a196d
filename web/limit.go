package web

import (
	"context"
	"errors"
	"math"
	"runtime"
	"sync"
	"time"

	"rigtally/internal/fair"
	"rigtally/journal"
	"rigtally/web/page"
)

// limit lets as many pages be made at once as there are processors, and a number wait for their turn. Turns go round
// the outfits: one that asks for many keeps others waiting for a page or two, and takes no place from them.
type limit struct {
	queue fair.Queue[journal.ID]

	mu   sync.Mutex
	mean time.Duration // of the latest pages, roughly
}

const (
	mostWaiting = 32
	longestWait = 10 * time.Second
)

func newLimit() *limit {
	return &limit{queue: fair.Queue[journal.ID]{Turns: runtime.GOMAXPROCS(0), Places: mostWaiting}}
}

// enter waits for a turn of an outfit. It is a busy error when too many wait already, or for too long.
func (l *limit) enter(ctx context.Context, outfit journal.ID) (leave func(), err error) {
	patience, end := context.WithTimeout(ctx, longestWait)
	defer end()
	turn, err := l.queue.Enter(patience, outfit)
	switch {
	case errors.Is(err, fair.ErrFull), err != nil && ctx.Err() == nil:
		return nil, l.busy()
	case err != nil:
		return nil, err
	}
	start := time.Now()
	return func() {
		turn()
		l.mu.Lock()
		defer l.mu.Unlock()
		l.mean = (7*l.mean + time.Since(start)) / 8
	}, nil
}

// busy tells when those who wait now will have had their turn.
func (l *limit) busy() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	wait := l.mean.Seconds() * float64(l.queue.Waiting()) / float64(l.queue.Turns)
	return &page.Busy{Seconds: int(math.Ceil(max(1, wait)))}
}
