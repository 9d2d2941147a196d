package outing

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"rigtally/cmd/rigtally/command"
	"rigtally/cmd/rigtally/terminal"
	"rigtally/internal/pgserver"
	"rigtally/journal"
)

// inEditor lets a person edit the session as a text until it can be stored, nothing is changed, or they give up. What
// was written is in a file from the start, which is taken away once it is stored.
func (e *editing) inEditor(ctx context.Context) error {
	shown := writePage(e.was, e.known, e.sys)
	file, err := e.editFile(shown.text)
	if err != nil {
		return err
	}
	given := shown.text
	for {
		if err := runEditor(ctx, e.Program, file); err != nil {
			return keptIn(file, shown.text, err)
		}
		text, err := os.ReadFile(file)
		if err != nil {
			return fmt.Errorf("read what was edited: %w", err)
		}
		written := withoutFaults(string(text))
		if written == shown.text {
			e.Printf("Nothing was changed, so nothing is stored.\n")
			return os.Remove(file)
		}
		wrong := e.storePage(ctx, written, shown)
		if wrong == nil {
			return os.Remove(file)
		}
		mendable := journal.IsInvalid(wrong) || journal.IsDoubtful(wrong) || terminal.IsMisuse(wrong)
		if !mendable || !e.Asks || string(text) == given && given != shown.text {
			return keptIn(file, shown.text, wrong)
		}
		e.Note("rigtally: %v", wrong)
		again, err := e.Asker(ctx).Ask(ctx, terminal.YesNo("again", "Open the editor again", "yes opens it with what you wrote; no stops, and keeps that in a file.", terminal.Yes))
		if err != nil || !terminal.IsYes(again) {
			return keptIn(file, shown.text, cmp.Or(err, wrong))
		}
		given = withFaults(written, wrong)
		if err := os.WriteFile(file, []byte(given), 0o600); err != nil {
			return fmt.Errorf("write what is wrong into the text: %w", err)
		}
	}
}

// withFaults puts what is wrong at the head of a text. The line it names is that of the text as it is then.
func withFaults(text string, wrong error) string {
	var at *atLine
	if errors.As(wrong, &at) {
		wrong = &atLine{at.line + 2, at.err}
	}
	return faultMark + strings.ReplaceAll(wrong.Error(), "\n", " ") + "\n" + faultMark + "Correct it and save; close without saving to give up.\n" + text
}

func withoutFaults(text string) string {
	var b strings.Builder
	for line := range strings.Lines(strings.ReplaceAll(text, "\r\n", "\n")) {
		if !strings.HasPrefix(line, faultMark) {
			b.WriteString(line)
		}
	}
	return b.String()
}

// keptIn says of a failure where what was written is, if anything was.
func keptIn(file, shown string, err error) error {
	text, failed := os.ReadFile(file)
	if failed == nil && withoutFaults(string(text)) == shown {
		_ = os.Remove(file) // nothing was written into it
		return err
	}
	return fmt.Errorf("%w\nWhat you wrote is kept in %s; to go on with it, correct it there and add --from with its name", err, file)
}

// editFile makes the file that is edited, in the data folder.
func (e *editing) editFile(text string) (string, error) {
	dir := e.Settings.DataDir
	if dir == "" {
		var err error
		if dir, err = pgserver.DefaultDataDir(); err != nil {
			return "", err
		}
	}
	dir = filepath.Join(dir, "edits")
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", fmt.Errorf("make the folder for what is edited: %w", err)
	}
	file, err := os.CreateTemp(dir, "session-"+e.was.Day.String()+"-*.toml")
	if err != nil {
		return "", fmt.Errorf("make the file that is edited: %w", err)
	}
	_, err = file.WriteString(text)
	return file.Name(), errors.Join(err, file.Close())
}

// usualEditors are tried where no other is set.
func usualEditors() []string {
	if runtime.GOOS == "windows" {
		return []string{"notepad"}
	}
	return []string{"nano", "vi", "vim", "emacs"}
}

// editorOf is the person's editor, which may have arguments.
func editorOf(p *command.Program) (string, error) {
	if editor := cmp.Or(p.Env["VISUAL"], p.Env["EDITOR"]); strings.TrimSpace(editor) != "" {
		return editor, nil
	}
	for _, name := range usualEditors() {
		if _, err := exec.LookPath(name); err == nil && p.Asks {
			p.Note("Opening %s; set EDITOR to use another editor.", name)
			return name, nil
		}
	}
	return "", terminal.Misusef("no editor is known; set EDITOR, as in EDITOR=nano, or change the session with flags, such as --tangles 3")
}

// runEditor opens a file in the person's editor and waits until it is closed.
func runEditor(ctx context.Context, p *command.Program, file string) error {
	editor, err := editorOf(p)
	if err != nil {
		return err
	}
	name, args := "/bin/sh", []string{"-c", editor + ` "$@"`, editor, file} // the shell knows about its quotes
	if runtime.GOOS == "windows" {
		words := strings.Fields(editor)
		name, args = words[0], append(words[1:], file)
	}
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Stdout, cmd.Stderr = p.Screen(), p.Err
	if in, ok := p.In.(*os.File); ok {
		cmd.Stdin = in
	}
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("the editor %s failed: %w; set EDITOR to one that works", editor, err)
	}
	return nil
}
