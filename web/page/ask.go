package page

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"
)

// keptAnswers keeps answers for as long as nothing has been written: a page is followed by its
// file, its figures and their numbers, and all of them are one answer. Equal questions asked at
// once are worked out once.
type keptAnswers struct {
	group singleflight.Group

	mu   sync.Mutex
	kept []keptAnswer // the last used last
}

type keptAnswer struct {
	question string
	revision int64 // of the journal, before it was asked
	answer   any
}

const (
	mostKept   = 24
	askingTime = 2 * time.Minute // for a question that nobody may wait for any more
)

// Ask asks a question of the journal, or hands out what it came to; that is never changed by
// anyone. The request tells questions apart: its type those of different kinds, its content those of one.
func Ask[R, A any](ctx context.Context, d *Desk, r R, ask func(context.Context) (A, error)) (a A, err error) {
	text, err := json.Marshal(r)
	if err != nil {
		return a, fmt.Errorf("tell the question %T: %w", r, err)
	}
	revision, err := d.Store.Revision(ctx)
	if err != nil {
		return a, err
	}
	question := fmt.Sprintf("%T %s", r, text)
	if kept, ok := d.found.find(question, revision); ok {
		return kept.(A), nil
	}
	// Whoever asks first may go away while others wait, so the work does not end with a request.
	done := d.found.group.DoChan(fmt.Sprint(revision, question), func() (any, error) {
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), askingTime)
		defer cancel()
		found, err := ask(ctx)
		if err == nil {
			d.found.keep(keptAnswer{question, revision, found})
		}
		return found, err
	})
	select {
	case result := <-done:
		a, _ = result.Val.(A)
		return a, result.Err
	case <-ctx.Done():
		return a, ctx.Err()
	}
}

func (k *keptAnswers) find(question string, revision int64) (any, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for i, kept := range k.kept {
		if kept.question == question && kept.revision == revision {
			k.kept = append(append(k.kept[:i:i], k.kept[i+1:]...), kept)
			return kept.answer, true
		}
	}
	return nil, false
}

// keep puts an answer in the place of what older revisions came to, or of the one not used for longest.
func (k *keptAnswers) keep(a keptAnswer) {
	k.mu.Lock()
	defer k.mu.Unlock()
	list := k.kept[:0:0]
	for _, kept := range k.kept {
		if kept.revision >= a.revision && kept.question != a.question {
			list = append(list, kept)
		}
	}
	if len(list) >= mostKept {
		list = list[1:]
	}
	k.kept = append(list, a)
}
