package rivers

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/uuid"

	"rigtally/journal"
)

// Ensure that it is told for an hour what came of fetching older readings, to the outfit that asked alone.
func TestWhatWasFetchedIsToldForAnHour(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		w, err := NewWorks(nil)
		if err != nil {
			t.Fatal(err)
		}
		defer w.Close()
		of := whose{journal.ID(uuid.New()), journal.ID(uuid.New())}
		if !w.fetch(of, func(context.Context, *past) []string { return nil }) {
			t.Fatal("not begun")
		}
		synctest.Wait()
		if w.pastOf(of) == nil || w.pastOf(whose{journal.ID(uuid.New()), of.water}) != nil {
			t.Error("it is not told, or to others")
		}
		if time.Sleep(2 * time.Hour); w.pastOf(of) != nil {
			t.Error("it is told hours later")
		}
	})
}
