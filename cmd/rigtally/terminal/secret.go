package terminal

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// Secret asks for a line that is not shown as it is typed. Without a terminal it reads the next line.
func (t *Terminal) Secret(prompt string) (string, error) {
	if f, ok := t.In.(*os.File); ok && t.Asks {
		_, _ = fmt.Fprint(t.Err, prompt)
		typed, err := term.ReadPassword(int(f.Fd()))
		_, _ = fmt.Fprintln(t.Err)
		if err != nil {
			return "", fmt.Errorf("read what was typed: %w", err)
		}
		return string(typed), nil
	}
	if t.secrets == nil {
		t.secrets = bufio.NewReader(t.In)
	}
	line, err := t.secrets.ReadString('\n')
	if line = strings.TrimRight(line, "\r\n"); line == "" && errors.Is(err, io.EOF) {
		return "", Misusef("a passphrase is missing; type it, or send it as a line of the standard input")
	}
	if err != nil && !errors.Is(err, io.EOF) {
		return "", fmt.Errorf("read the passphrase: %w", err)
	}
	return line, nil
}
