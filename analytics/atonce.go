package analytics

import (
	"errors"
	"runtime"
	"sync"
)

// atOnce does n independent things, as many at a time as there are processors.
func atOnce(n int, do func(i int) error) error {
	failed := make([]error, n)
	next := make(chan int)
	var workers sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for i := range next {
				failed[i] = do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	workers.Wait()
	return errors.Join(failed...)
}
