package outing

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/pgserver"
)

// kept is a session that was begun step by step and is not stored yet.
type kept struct {
	Began   time.Time         `json:"began"`
	Answers map[string]string `json:"answers"` // by the key of the question

	path string
	lost bool // it can't be kept
	tell func(format string, args ...any)
}

// openDraft reads what was begun before, if there is anything.
func openDraft(p *command.Program) (*kept, error) {
	dir := p.Settings.DataDir
	if dir == "" {
		var err error
		if dir, err = pgserver.DefaultDataDir(); err != nil {
			return nil, err
		}
	}
	d := &kept{path: filepath.Join(dir, "log-draft.json"), tell: p.Note}
	text, err := os.ReadFile(d.path)
	switch {
	case errors.Is(err, os.ErrNotExist):
	case err != nil:
		d.tell("What you started before can't be read: %v", err)
	default:
		if err := json.Unmarshal(text, d); err != nil {
			d.tell("What you started before can't be read: %s: %v", d.path, err)
		}
	}
	if len(d.Answers) == 0 {
		d.Began, d.Answers = p.Now(), map[string]string{}
	}
	return d, nil
}

// goOn asks whether to go on with what was begun before.
func (d *kept) goOn(ctx context.Context, a *terminal.Asker) error {
	if len(d.Answers) == 0 {
		return nil
	}
	answer, err := a.Ask(ctx, terminal.YesNo("go-on", fmt.Sprintf("You have a session started on %s; continue it", d.Began.Format("Monday 2 January at 15:04")),
		"yes goes through it again with what you said as the answers; no throws it away and starts over.", terminal.Yes))
	if err != nil || terminal.IsYes(answer) {
		return err
	}
	clear(d.Answers)
	return d.remove()
}

// save writes what was said so far. Where that fails the person is told once, and
// can store the session all the same.
func (d *kept) save() {
	if d.lost {
		return
	}
	text, err := json.Marshal(d)
	if err == nil {
		err = os.MkdirAll(filepath.Dir(d.path), 0o755)
	}
	if err == nil {
		err = replaceFile(d.path, text)
	}
	if err != nil {
		d.lost = true
		d.tell("What you type can't be kept for later: %v", err)
	}
}

// replaceFile puts a whole file in the place of another, or leaves that.
func replaceFile(path string, text []byte) error {
	fresh := path + ".new"
	if err := os.WriteFile(fresh, text, 0o600); err != nil {
		return err
	}
	return os.Rename(fresh, path)
}

// remove takes the file away, once the session is stored or not wanted.
func (d *kept) remove() error {
	if err := os.Remove(d.path); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("take away what is stored by now: %w", err)
	}
	return nil
}
