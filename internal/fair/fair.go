// Package fair hands out turns at what is scarce, so that nobody who takes many keeps others waiting.
package fair

import (
	"context"
	"errors"
	"slices"
	"sync"
)

// ErrFull says that nobody more may wait.
var ErrFull = errors.New("too many wait already")

// Queue hands out turns to those of a key, as an outfit is. A turn that comes free goes to the key that has the fewest, of
// those to the one whose last was longest ago, and of one key to who came first. Where all places are taken, who comes for
// a key with fewer waiting takes the place of the last who came for the key with the most.
type Queue[K comparable] struct {
	Turns  int // at once
	Share  int // of one key at once; 0: all turns
	Places int // to wait at; 0: any number may wait

	mu      sync.Mutex
	taken   int
	keys    map[K]*key
	waiting []*waiter[K] // in the order in which they came
	granted int          // turns ever
}

// key is what is known of one that has a turn or waits for one.
type key struct{ turns, waiting, last int }

type waiter[K comparable] struct {
	key  K
	turn chan error // nil: it is this one's turn
}

// Enter waits for a turn until ctx ends; leave ends it. It is ErrFull where there is no place to wait.
func (q *Queue[K]) Enter(ctx context.Context, of K) (leave func(), err error) {
	w := &waiter[K]{of, make(chan error, 1)}
	if err := q.join(w); err != nil {
		return nil, err
	}
	select {
	case err = <-w.turn:
	case <-ctx.Done():
		err = ctx.Err()
		if !q.quit(w) && <-w.turn == nil { // it came at the same moment
			q.leave(of)
		}
	}
	if err != nil {
		return nil, err
	}
	return sync.OnceFunc(func() { q.leave(of) }), nil
}

// Waiting is how many wait.
func (q *Queue[K]) Waiting() int {
	q.mu.Lock()
	defer q.mu.Unlock()
	return len(q.waiting)
}

// WaitingOf is how many of a key wait.
func (q *Queue[K]) WaitingOf(of K) int {
	q.mu.Lock()
	defer q.mu.Unlock()
	if k := q.keys[of]; k != nil {
		return k.waiting
	}
	return 0
}

func (q *Queue[K]) join(w *waiter[K]) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.keys == nil {
		q.keys = map[K]*key{}
	}
	k := q.keys[w.key]
	if k == nil {
		k = &key{}
		q.keys[w.key] = k
	}
	defer q.forget(w.key)
	k.waiting++
	q.waiting = append(q.waiting, w)
	q.grant()
	if q.Places == 0 || len(q.waiting) <= q.Places {
		return nil
	}
	most := 0
	for _, k := range q.keys {
		most = max(most, k.waiting)
	}
	last := w
	if k.waiting < most {
		for _, other := range q.waiting {
			if q.keys[other.key].waiting == most {
				last = other
			}
		}
	}
	q.drop(last)
	if last == w {
		return ErrFull
	}
	last.turn <- ErrFull
	return nil
}

// quit takes one who waits out of the queue; false: that one does not wait any more.
func (q *Queue[K]) quit(w *waiter[K]) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	waits := slices.Contains(q.waiting, w)
	if waits {
		q.drop(w)
	}
	return waits
}

func (q *Queue[K]) leave(of K) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.taken--
	q.keys[of].turns--
	q.grant()
	q.forget(of)
}

// grant hands out what turns are free.
func (q *Queue[K]) grant() {
	for q.taken < q.Turns {
		var next *waiter[K]
		var first *key
		for _, w := range q.waiting {
			k := q.keys[w.key]
			if q.Share > 0 && k.turns >= q.Share {
				continue
			}
			if first == nil || k.turns < first.turns || k.turns == first.turns && k.last < first.last {
				next, first = w, k
			}
		}
		if next == nil {
			return
		}
		q.taken++
		q.granted++
		first.turns++
		first.last = q.granted
		q.drop(next)
		next.turn <- nil
	}
}

func (q *Queue[K]) drop(w *waiter[K]) {
	q.waiting = slices.DeleteFunc(q.waiting, func(x *waiter[K]) bool { return x == w })
	q.keys[w.key].waiting--
	q.forget(w.key)
}

// forget drops a key that has no turn and waits for none.
func (q *Queue[K]) forget(of K) {
	if k := q.keys[of]; k != nil && k.turns == 0 && k.waiting == 0 {
		delete(q.keys, of)
	}
}
