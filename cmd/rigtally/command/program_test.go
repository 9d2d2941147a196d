package command

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"syscall"
	"testing"

	"github.com/spf13/cobra"
)

// closed is the pipe of a reader who has gone.
type closed struct{}

func (closed) Write([]byte) (int, error) { return 0, syscall.EPIPE }

// Ensure that a reader who has seen enough gets no complaint, and that a database that broke off is never passed over in
// silence: its socket is a broken pipe, too.
func TestBrokenPipes(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		out  io.Writer
		err  error
		says string
	}{
		{"the reader's", closed{}, nil, ""},
		{"the database's", &bytes.Buffer{}, fmt.Errorf("store the session: %w", syscall.EPIPE), "rigtally: store the session: broken pipe\n"},
	} {
		var errs bytes.Buffer
		p := New(strings.NewReader(""), c.out, &errs, []string{"COLUMNS=0"})
		status := p.Run(t.Context(), &cobra.Command{Use: "rigtally", RunE: func(*cobra.Command, []string) error {
			p.Printf("an answer\n")
			return c.err
		}}, nil)
		if status != 1 || errs.String() != c.says {
			t.Errorf("%s: status %d, %q", c.name, status, errs.String())
		}
	}
}
