package web

import (
	"context"
	"math"
	"runtime"
	"sync"
	"time"

	"rigtally/web/page"
)

// limit lets as many pages be made at once as there are processors, and a number wait for their turn.
type limit struct {
	once    sync.Once
	turns   chan struct{}
	waiting chan struct{}

	mu   sync.Mutex
	mean time.Duration // of the latest pages, roughly
}

const (
	mostWaiting = 32
	longestWait = 10 * time.Second
)

// enter waits for a turn. It is a busy error when too many wait already, or for too long.
func (l *limit) enter(ctx context.Context) (leave func(), err error) {
	l.once.Do(func() {
		l.turns, l.waiting = make(chan struct{}, runtime.GOMAXPROCS(0)), make(chan struct{}, mostWaiting)
	})
	select {
	case l.waiting <- struct{}{}:
		defer func() { <-l.waiting }()
	default:
		return nil, l.busy()
	}
	patience := time.NewTimer(longestWait)
	defer patience.Stop()
	select {
	case l.turns <- struct{}{}:
	case <-patience.C:
		return nil, l.busy()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	start := time.Now()
	return func() {
		<-l.turns
		l.mu.Lock()
		defer l.mu.Unlock()
		l.mean = (7*l.mean + time.Since(start)) / 8
	}, nil
}

// busy tells when those who wait now will have had their turn.
func (l *limit) busy() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	wait := l.mean.Seconds() * float64(len(l.waiting)) / float64(cap(l.turns))
	return &page.Busy{Seconds: int(math.Ceil(max(1, wait)))}
}
