package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"runtime/debug"
	"sync"
	"time"

	"golang.org/x/sync/singleflight"

	"rigtally/web/page"
)

// keptPages keeps pages that show answers for as long as they stay true. A page that many ask for at once is
// made once, and only a few different ones are made at the same time.
type keptPages struct {
	group singleflight.Group
	limit limit

	mu   sync.Mutex
	kept []madePage // the last used last
}

// madePage is a page as it was made: under its address, and the tag of what it was made from.
type madePage struct {
	address, tag string
	status       int
	header       http.Header
	body         []byte
}

const (
	mostPageBytes = 32 << 20 // of all pages kept
	makingTime    = 2 * time.Minute
)

// panicked carries a panic out of the goroutine in which a page was made.
type panicked struct {
	value any
	stack []byte
}

func (p *panicked) Error() string { return fmt.Sprint(p.value) }

// serve answers with the page of a request, made by act unless it is kept.
func (k *keptPages) serve(w http.ResponseWriter, r *http.Request, tag string, act page.Action) error {
	address := r.URL.RequestURI()
	page, ok := k.find(address, tag)
	if !ok {
		// Whoever asks first may go away while others wait, so the work does not end with a request.
		done := k.group.DoChan(tag+address, func() (_ any, err error) {
			ctx, cancel := context.WithTimeout(context.WithoutCancel(r.Context()), makingTime)
			defer cancel()
			defer func() {
				if p := recover(); p != nil {
					err = &panicked{p, debug.Stack()}
				}
			}()
			leave, err := k.limit.enter(ctx)
			if err != nil {
				return nil, err
			}
			defer leave()
			made := &pageMaker{header: http.Header{}}
			if err := act(made, r.WithContext(ctx)); err != nil {
				return nil, err
			}
			made.WriteHeader(http.StatusOK) // of a page without a body
			page := madePage{address, tag, made.status, made.header, made.body.Bytes()}
			k.keep(page)
			return page, nil
		})
		select {
		case result := <-done:
			if p, ok := result.Err.(*panicked); ok { // as if it had happened here
				panic(fmt.Sprintf("%v\n%s", p.value, p.stack))
			}
			if result.Err != nil {
				return result.Err
			}
			page = result.Val.(madePage)
		case <-r.Context().Done():
			return r.Context().Err()
		}
	}
	for name, values := range page.header {
		w.Header()[name] = values
	}
	w.WriteHeader(page.status)
	_, err := w.Write(page.body)
	return err
}

func (k *keptPages) find(address, tag string) (madePage, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for i, p := range k.kept {
		if p.address == address && p.tag == tag {
			k.kept = append(append(k.kept[:i:i], k.kept[i+1:]...), p)
			return p, true
		}
	}
	return madePage{}, false
}

// keep puts a page in the place of what it was before, and of those not used for longest.
func (k *keptPages) keep(page madePage) {
	if page.status != http.StatusOK || len(page.body) > mostPageBytes/2 {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	list, bytes := k.kept[:0:0], len(page.body)
	for _, p := range k.kept {
		if p.tag == page.tag && p.address != page.address {
			list, bytes = append(list, p), bytes+len(p.body)
		}
	}
	for bytes > mostPageBytes {
		bytes -= len(list[0].body)
		list = list[1:]
	}
	k.kept = append(list, page)
}

// pageMaker takes what an action writes.
type pageMaker struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (p *pageMaker) Header() http.Header { return p.header }

func (p *pageMaker) WriteHeader(status int) {
	if p.status == 0 {
		p.status = status
	}
}

func (p *pageMaker) Write(b []byte) (int, error) {
	p.WriteHeader(http.StatusOK)
	return p.body.Write(b)
}
