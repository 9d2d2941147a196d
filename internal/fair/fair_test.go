package fair_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"

	"rigtally/internal/fair"
)

// crowd has so many of a key wait, one after the other, who leave at once when it is their turn.
func crowd(t *testing.T, q *fair.Queue[string], order *[]string, key string, n int) (full *atomic.Int32) {
	full = new(atomic.Int32)
	for range n {
		go func() {
			leave, err := q.Enter(t.Context(), key)
			if errors.Is(err, fair.ErrFull) {
				full.Add(1)
				return
			}
			*order = append(*order, key) // turns are one at a time
			leave()
		}()
		synctest.Wait()
	}
	return full
}

// Ensure that turns go round the keys, whoever came first and with however many, and that a newcomer finds a place.
func TestTurnsGoRound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q := &fair.Queue[string]{Turns: 1, Places: 8}
		var order []string
		leave, err := q.Enter(t.Context(), "A")
		if err != nil {
			t.Fatal(err)
		}
		a := crowd(t, q, &order, "A", 200)
		b := crowd(t, q, &order, "B", 3)
		c := crowd(t, q, &order, "C", 1)
		if q.Waiting() != 8 {
			t.Errorf("%d wait", q.Waiting())
		}
		leave()
		synctest.Wait()
		if want := []string{"B", "C", "A", "B", "A", "B", "A", "A"}; !slices.Equal(order, want) {
			t.Errorf("turns went %v, want %v", order, want)
		}
		if a.Load() != 196 || b.Load() != 0 || c.Load() != 0 {
			t.Errorf("found no place: %d, %d and %d", a.Load(), b.Load(), c.Load())
		}
	})
}

// Ensure that one key never takes more than its share, and that who goes away takes nothing along.
func TestAShareIsAllThatOneTakes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q := &fair.Queue[string]{Turns: 4, Share: 2}
		var leaves []func()
		for _, key := range []string{"A", "A", "B"} {
			leave, err := q.Enter(t.Context(), key)
			if err != nil {
				t.Fatal(err)
			}
			leaves = append(leaves, leave)
		}
		ctx, cancel := context.WithCancel(t.Context())
		var third error
		go func() { _, third = q.Enter(ctx, "A") }()
		synctest.Wait()
		if q.Waiting() != 1 {
			t.Errorf("%d wait", q.Waiting())
		}
		cancel()
		synctest.Wait()
		if !errors.Is(third, context.Canceled) || q.Waiting() != 0 {
			t.Errorf("%v, %d wait", third, q.Waiting())
		}
		leaves[0]()
		leaves[0]() // twice is once
		leave, err := q.Enter(t.Context(), "A")
		if err != nil {
			t.Fatal(err)
		}
		defer leave()
		if _, err := q.Enter(ctx, "A"); !errors.Is(err, context.Canceled) {
			t.Errorf("a third turn of two: %v", err)
		}
	})
}

// Ensure under many who come and go that turns and shares hold, and that none is lost.
func TestNoTurnIsLost(t *testing.T) {
	t.Parallel()
	q := &fair.Queue[int]{Turns: 3, Share: 2, Places: 6}
	var all atomic.Int32
	var each [4]atomic.Int32
	var work sync.WaitGroup
	for i := range 8 {
		work.Go(func() {
			r := rand.New(rand.NewPCG(1, uint64(i)))
			for range 300 {
				ctx, cancel := context.WithCancel(t.Context())
				if r.IntN(3) == 0 {
					go cancel()
				}
				key := r.IntN(len(each))
				if leave, err := q.Enter(ctx, key); err == nil {
					if n, k := all.Add(1), each[key].Add(1); n > 3 || k > 2 {
						t.Errorf("%d turns at once, %d of one", n, k)
					}
					all.Add(-1)
					each[key].Add(-1)
					leave()
				}
				cancel()
			}
		})
	}
	work.Wait()
	for _, key := range []int{0, 0, 1} {
		leave, err := q.Enter(t.Context(), key)
		if err != nil {
			t.Fatal(err)
		}
		defer leave()
	}
	if q.Waiting() != 0 {
		t.Errorf("%d wait for nothing", q.Waiting())
	}
}
