package imports

import (
	"context"
	"slices"
	"testing"
	"testing/synctest"

	"github.com/google/uuid"

	"rigtally/journal"
	"rigtally/web/pending"
)

// Ensure that a second click, whose form came before the first one's writing was over, writes nothing again, and that what was not
// written can be begun anew.
func TestASecondClickWritesNothing(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		tray, outfit := NewTray(nil), journal.ID(uuid.New())
		u := &upload{Upload: pending.NewUpload(pending.File{Name: "a.csv", Text: []byte("x")})}
		var read []string
		writing := func(failed ...string) func(context.Context, *job) []string {
			return func(context.Context, *job) []string {
				read = append(read, string(u.Files()[0].Text))
				return failed
			}
		}
		for _, failed := range [][]string{{"Not written."}, nil, nil} {
			if !tray.start(outfit, u, writing(failed...)) {
				t.Error("not begun")
			}
			synctest.Wait()
			u.again()
		}
		if !slices.Equal(read, []string{"x", "x"}) || u.Busy() {
			t.Errorf("read %q", read)
		}
		tray.Close()
	})
}
