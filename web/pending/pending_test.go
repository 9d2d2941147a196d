package pending

import (
	"context"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/uuid"

	"rigtally/journal"
)

// load is an upload as a page has it.
type load struct {
	*Upload
	busy bool
}

func (l *load) Busy() bool { return l.busy }

func sent(size int) *load {
	return &load{Upload: NewUpload(File{Name: "a.csv", Text: make([]byte, size)})}
}

func owner() Owner { return Owner{journal.ID(uuid.New()), journal.ID(uuid.New())} }

// Ensure that files are there for who sent them alone, within what they may take, and for an hour.
func TestFilesWaitForWhoSentThem(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s, a := NewShelf[*load](2), owner()
		guest := Owner{outfit: a.outfit, person: owner().person}
		first, second, third := sent(1), sent(1), sent(1)
		for _, x := range []*load{first, second} {
			if !s.Put(a, x) {
				t.Fatal("there is no room")
			}
		}
		if _, ok := s.Find(guest, first.ID); ok {
			t.Error("it is another's too")
		}
		first.busy = true
		if s.Put(a, third); !slices.Equal(s.Own(a), []*load{third, second, first}) {
			t.Errorf("%d wait; what is being written counts", len(s.Own(a)))
		}
		if s.Put(a, sent(1)); len(s.Own(a)) != 3 || slices.Contains(s.Own(a), second) {
			t.Errorf("%d wait; the oldest is to go", len(s.Own(a)))
		}
		time.Sleep(lasts + time.Minute)
		if got := s.Own(a); !slices.Equal(got, []*load{first}) {
			t.Errorf("after an hour %d wait", len(got))
		}
		first.busy = false
		if s.Put(guest, sent(mostOf-1)); !s.Put(owner(), sent(1)) || s.Put(a, sent(1)) {
			t.Error("what an outfit may take is not kept to")
		}
		if s.Put(owner(), sent(mostHeld-mostOf)) {
			t.Error("what all may take is not kept to")
		}
		first.Clear()
		if !s.Put(a, sent(1)) || first.Files()[0].Name != "a.csv" || first.Files()[0].Text != nil {
			t.Error("what was cleared counts still")
		}
		time.Sleep(2 * lasts)
		s.mu.Lock()
		defer s.mu.Unlock()
		if len(s.held) > 0 {
			t.Errorf("%d wait in the end", len(s.held))
		}
	})
}

// Ensure that an outfit has one work under way, which can be stopped and ends with all, that a panic is an error, and that it is
// known for an hour what came of it.
func TestWorkOfAnOutfit(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		jobs, outfit := NewJobs[[]string](), owner().outfit
		until := func(ctx context.Context, j *Job[[]string]) []string {
			j.Begin("a.csv")
			j.Went(1, 2)
			j.Note(func(list []string) []string { return append(list, "said") })
			err := Safely(func() error { <-ctx.Done(); panic("stopped") })
			return []string{err.Error()}
		}
		one, ok := jobs.Start(outfit, until)
		if _, again := jobs.Start(outfit, until); !ok || again {
			t.Errorf("begun %t, twice %t", ok, again)
		}
		other, ok := jobs.Start(owner().outfit, until)
		if synctest.Wait(); !ok || other.Over() || one.Over() {
			t.Error("others wait for it, or it is over")
		}
		if at, done, total := one.Progress(); at != "a.csv" || done != 1 || total != 2 {
			t.Errorf("%s, %d of %d", at, done, total)
		}
		one.Stop()
		synctest.Wait()
		said, failed := one.Result()
		if !one.Over() || one.Past() || other.Over() || !slices.Equal(said, []string{"said"}) || len(failed) != 1 || !strings.HasPrefix(failed[0], "panic: stopped\n") {
			t.Errorf("over %t, the other one %t: %q, %q", one.Over(), other.Over(), said, failed)
		}
		if time.Sleep(lasts + time.Second); !one.Past() || other.Past() {
			t.Error("it is not past, or what is under way is")
		}
		if _, ok := jobs.Start(outfit, until); !ok {
			t.Error("nothing can be begun after it")
		}
		if jobs.Close(); !other.Over() {
			t.Error("it goes on")
		}
		if _, ok := jobs.Start(outfit, until); ok {
			t.Error("begun after the end")
		}
	})
}

// Ensure that all of it can be used at once.
func TestAtOnce(t *testing.T) {
	t.Parallel()
	s, jobs, of := NewShelf[*load](2), NewJobs[int](), owner()
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			x := sent(1)
			s.Put(of, x)
			x.Choose(url.Values{"unit": {"c"}})
			for _, h := range s.Own(of) {
				_, _ = h.Said(), h.Files()[0].Text
			}
			if j, ok := jobs.Start(of.outfit, func(context.Context, *Job[int]) []string { x.Clear(); return nil }); ok {
				j.Stop()
				_, _ = j.Result()
			}
			s.Drop(x)
		})
	}
	all.Wait()
	if jobs.Close(); len(s.Own(of)) > 0 {
		t.Errorf("%d wait", len(s.Own(of)))
	}
}

// Ensure that a file is shown by a name of its own, as it is.
func TestName(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("é", 90) + ".csv"
	for name, want := range map[string]string{"a.csv": "a.csv", `C:\b\a.csv`: "a.csv", "/x/a.csv": "a.csv", "a\xff.csv": "a?.csv", long: strings.Repeat("é", 60) + "…" + strings.Repeat("é", 12) + ".csv"} {
		if got := Name(name); got != want {
			t.Errorf("%q is shown as %q", name, got)
		}
	}
}
