// Package terminal speaks with the person who runs a command: answers, tables, questions, progress, and what was
// asked for in a wrong way.
package terminal

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"rigtally/internal/table"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// usualWidth is how wide lines may be where no terminal says it.
const usualWidth = 80

// Terminal is what a run of the program reads from and writes to.
type Terminal struct {
	In  io.Reader
	Out io.Writer // answers
	Err io.Writer // what is told beside them

	Columns *int // how wide lines may be, where that was said

	Asks     bool // someone at a terminal can be asked
	Reads    bool // someone at a terminal reads the answer
	Progress bool // someone at a terminal watches the work

	failed *failure
	asking *Asker // once something was asked

	secrets *bufio.Reader // once a secret was read that is not typed
}

// New makes a terminal of the streams of a process.
func New(in io.Reader, out, err io.Writer) *Terminal {
	failed := &failure{w: out}
	return &Terminal{
		In: in, Out: failed, Err: err, failed: failed,
		Asks:     isTerminal(in) && isTerminal(out),
		Reads:    isTerminal(out),
		Progress: isTerminal(err),
	}
}

func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// failure remembers the first failure to write, so that no answer is cut short unnoticed.
type failure struct {
	w   io.Writer
	err error
}

func (f *failure) Write(b []byte) (int, error) {
	n, err := f.w.Write(b)
	if err != nil && f.err == nil {
		f.err = err
	}
	return n, err
}

// Screen is what answers go to, for another program to take over.
func (t *Terminal) Screen() io.Writer { return t.failed.w }

// Failed is the first failure to write an answer.
func (t *Terminal) Failed() error { return t.failed.err }

// Width is how many columns a line of an answer may have; 0 is without end.
func (t *Terminal) Width() int {
	if t.Columns != nil {
		return *t.Columns
	}
	if f, ok := t.failed.w.(*os.File); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil && width > 0 {
			return width
		}
	}
	return usualWidth
}

// Printf writes a part of the answer: whole lines, which are folded where they are too long.
func (t *Terminal) Printf(format string, args ...any) {
	_, _ = io.WriteString(t.Out, table.FoldLines(fmt.Sprintf(format, args...), t.Width()))
}

// Did says what was done, unless it failed.
func (t *Terminal) Did(err error, format string, args ...any) error {
	if err == nil {
		t.Printf(format, args...)
	}
	return err
}

// Note tells the person something beside the answer.
func (t *Terminal) Note(format string, args ...any) { _, _ = fmt.Fprintf(t.Err, format+"\n", args...) }

// JSON writes an answer for programs, which people can read too.
func (t *Terminal) JSON(answer any) error { return WriteJSON(t.Out, answer) }

// WriteJSON writes an answer for programs to w.
func WriteJSON(w io.Writer, answer any) error {
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	out.SetIndent("", "  ")
	if err := out.Encode(answer); err != nil {
		return fmt.Errorf("write the answer: %w", err)
	}
	return nil
}

// Table writes rows below their headings, in columns that keep to the width.
func (t *Terminal) Table(headings []string, rows [][]string) error {
	var list table.Table
	for _, title := range headings {
		list.Columns = append(list.Columns, table.Column{Key: title, Title: title, Words: true})
	}
	for _, row := range rows {
		var cells []table.Cell
		for _, text := range row {
			cells = append(cells, table.Cell{Text: text})
		}
		list.Rows = append(list.Rows, table.Row{Cells: cells})
	}
	return list.WriteText(t.Out, t.Width())
}

// Bar shows progress to someone who watches. done takes it off the screen.
func (t *Terminal) Bar(what string) (progress func(done, total int64), done func()) {
	if !t.Progress {
		return nil, func() {}
	}
	var bar *progressbar.ProgressBar
	progress = func(done, total int64) {
		if bar == nil {
			bar = progressbar.NewOptions64(total, progressbar.OptionSetWriter(t.Err), progressbar.OptionSetDescription(what),
				progressbar.OptionShowCount(), progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(100*time.Millisecond))
		}
		_ = bar.Set64(done) // a bar that can't be drawn is no reason to stop
	}
	return progress, func() {
		if bar != nil {
			_ = bar.Finish()
		}
	}
}
