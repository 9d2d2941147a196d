package web

import (
	"context"
	"math"
	"runtime"
	"strconv"
	"sync"
	"time"
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

// busy says that too many pages are being made, and after how many seconds to ask again.
type busy struct{ seconds int }

func (e *busy) Error() string { return "too many pages at once" }

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
	return &busy{int(math.Ceil(max(1, wait)))}
}

// busySays is what a person reads of it.
func (e *busy) says() string {
	after := strconv.Itoa(e.seconds) + " seconds"
	if e.seconds == 1 {
		after = "a second"
	}
	return "Too many people are asking at once. Nothing is lost. Try again in " + after + "."
}
