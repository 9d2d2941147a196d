package page

import (
	"context"
	"fmt"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"
)

// Kept keeps what was worked out for as long as it stays true. What many ask for at once is
// worked out once.
type Kept[V any] struct {
	Most int         // of all that is kept together
	Size func(V) int // of one; more than Most is not kept
	work singleflight.Group

	mu   sync.Mutex
	kept []made[V] // the last used last
}

// made is what was worked out, and the tag of what it was made from.
type made[V any] struct {
	key, tag string
	value    V
}

// workTime is given to work that nobody may wait for any more.
const workTime = 2 * time.Minute

// panicked carries a panic out of the goroutine in which something was worked out.
type panicked struct {
	value any
	stack []byte
}

func (p *panicked) Error() string { return fmt.Sprint(p.value) }

// Get is what is kept under a key, made from what has a tag, or what the work comes to.
func (k *Kept[V]) Get(ctx context.Context, key, tag string, work func(context.Context) (V, error)) (v V, err error) {
	if v, ok := k.find(key, tag); ok {
		return v, nil
	}
	// Whoever asks first may go away while others wait, so the work does not end with a request.
	done := k.work.DoChan(tag+" "+key, func() (_ any, err error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), workTime)
		defer cancel()
		defer func() {
			if p := recover(); p != nil {
				err = &panicked{p, debug.Stack()}
			}
		}()
		v, err := work(ctx)
		if err == nil {
			k.keep(made[V]{key, tag, v})
		}
		return v, err
	})
	select {
	case result := <-done:
		if p, ok := result.Err.(*panicked); ok { // as if it had happened here
			panic(fmt.Sprintf("%v\n%s", p.value, p.stack))
		}
		v, _ = result.Val.(V)
		return v, result.Err
	case <-ctx.Done():
		return v, ctx.Err()
	}
}

// Total is the size of all that is kept.
func (k *Kept[V]) Total() (size int) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, m := range k.kept {
		size += k.Size(m.value)
	}
	return size
}

func (k *Kept[V]) find(key, tag string) (v V, ok bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	i := slices.IndexFunc(k.kept, func(m made[V]) bool { return m.key == key && m.tag == tag })
	if i < 0 {
		return v, false
	}
	m := k.kept[i]
	k.kept = append(slices.Delete(k.kept, i, i+1), m)
	return m.value, true
}

// keep puts something in the place of what was made from something else, and of those not used for longest.
func (k *Kept[V]) keep(m made[V]) {
	size := k.Size(m.value)
	if size > k.Most {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.kept = slices.DeleteFunc(k.kept, func(old made[V]) bool { return old.tag != m.tag || old.key == m.key })
	for _, old := range k.kept {
		size += k.Size(old.value)
	}
	for size > k.Most {
		size -= k.Size(k.kept[0].value)
		k.kept = slices.Delete(k.kept, 0, 1)
	}
	k.kept = append(k.kept, m)
}
