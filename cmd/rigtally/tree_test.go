package main

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"rigtally/cmd/rigtally/command"
)

// everyCommand is every command of the program that people are shown.
func everyCommand(t *testing.T) []*cobra.Command {
	t.Helper()
	var all []*cobra.Command
	var walk func(*cobra.Command)
	walk = func(c *cobra.Command) {
		all = append(all, c)
		for _, sub := range c.Commands() {
			if !sub.Hidden {
				walk(sub)
			}
		}
	}
	walk(commands(command.New(strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{}, nil)))
	return all
}

// Ensure that every command has an example, and that each example is taken: its words lead to a command that takes its
// flags and its arguments.
func TestEveryCommandHasAnExampleThatIsTaken(t *testing.T) {
	t.Parallel()
	tried := 0
	for _, cmd := range everyCommand(t) {
		if cmd.Example == "" {
			t.Errorf("%s has no example", cmd.CommandPath())
		}
		own := false
		for _, line := range examplesOf(cmd.Example) {
			args, ok := strings.CutPrefix(line, "rigtally ")
			if !ok {
				if _, args, ok = strings.Cut(line, "$(rigtally "); !ok {
					t.Errorf("%s: %q is no command of rigtally", cmd.CommandPath(), line)
					continue
				}
				args, _, _ = strings.Cut(args, ")")
			}
			own = own || strings.Contains(line, cmd.CommandPath())
			tried++
			for _, one := range strings.Split(args, " && rigtally ") {
				tryExample(t, one)
			}
		}
		if cmd.Example != "" && !own {
			t.Errorf("no example of %s shows it:\n%s", cmd.CommandPath(), cmd.Example)
		}
	}
	if tried < 80 {
		t.Errorf("only %d examples were tried", tried)
	}
}

// tryExample parses a command as the program does, without doing it.
func tryExample(t *testing.T, line string) {
	t.Helper()
	root := commands(command.New(strings.NewReader(""), &bytes.Buffer{}, &bytes.Buffer{}, nil))
	cmd, args, err := root.Find(shellWords(line))
	if err != nil {
		t.Errorf("rigtally %s: %v", line, err)
		return
	}
	if err := cmd.ParseFlags(args); err != nil {
		t.Errorf("rigtally %s: %v", line, err)
		return
	}
	if err := cmd.ValidateArgs(cmd.Flags().Args()); err != nil {
		t.Errorf("rigtally %s: %v", line, err)
	}
	if cmd.PreRunE != nil {
		if err := cmd.PreRunE(cmd, cmd.Flags().Args()); err != nil {
			t.Errorf("rigtally %s: %v", line, err)
		}
	}
}

// examplesOf are the commands of an example, without what is said about them.
func examplesOf(text string) []string {
	var list []string
	for line := range strings.Lines(strings.ReplaceAll(text, "\\\n", " ")) {
		line, _, _ = strings.Cut(strings.TrimSpace(line), "  #")
		if line != "" && !strings.HasPrefix(line, "#") {
			list = append(list, strings.TrimSpace(line))
		}
	}
	return list
}

// shellWords takes a line apart as a shell does, as far as quotes go.
func shellWords(line string) []string {
	var words []string
	word, quote, open := "", rune(0), false
	for _, r := range line + " " {
		switch {
		case quote != 0 && r == quote:
			quote = 0
		case quote == 0 && (r == '"' || r == '\''):
			quote, open = r, true
		case quote == 0 && r == ' ':
			if open {
				words = append(words, word)
			}
			word, open = "", false
		default:
			word, open = word+string(r), true
		}
	}
	return words
}

// Ensure that a wrong word or flag is answered with the right one, and a missing one with those there are.
func TestWrongAndMissingWords(t *testing.T) {
	t.Parallel()
	for line, want := range map[string]string{
		"sesions list":                   `did you mean "rigtally sessions"?`,
		"sessions lst":                   `did you mean "rigtally sessions list"?`,
		"anglers burn":                   "there are: list, merge, rename",
		"sessions list --angeler Maud":   `did you mean "--angler"?`,
		"waters merge Tessel":            "one of the two names, of the one to go and of the one that stays, is missing",
		"rigs rename --beat-of Tessel a": "there is no flag --beat-of here",
		"waters zone Tessel":             "one of the two, the water's name and its time zone, is missing",
	} {
		if got := runIn(t, "", strings.Fields(line)...); got.status != 2 || !strings.Contains(got.errors, want) {
			t.Errorf("rigtally %s: status %d, %s", line, got.status, got.errors)
		}
	}
	for _, cmd := range everyCommand(t) {
		if !cmd.HasSubCommands() || cmd.Name() == "claims" || cmd.Name() == "trials" || cmd.Name() == "undo" {
			continue // by themselves those do something
		}
		got := runIn(t, "", strings.Fields(strings.TrimPrefix(cmd.CommandPath(), "rigtally"))...)
		for _, sub := range cmd.Commands() {
			if sub.IsAvailableCommand() && !strings.Contains(got.out, "\n  "+sub.Name()+" ") {
				t.Errorf("%s does not name %s:\n%s%s", cmd.CommandPath(), sub.Name(), got.out, got.errors)
			}
		}
	}
	if got := runIn(t, "", "--version"); got.status != 0 || !strings.HasPrefix(got.out, "rigtally ") {
		t.Errorf("--version: %d, %q", got.status, got.out)
	}
}

// Ensure that what is said of every command keeps to the width of the terminal, and paragraphs fill it.
func TestHelpKeepsToTheWidth(t *testing.T) {
	t.Parallel()
	for _, cmd := range everyCommand(t) {
		args := append(strings.Fields(strings.TrimPrefix(cmd.CommandPath(), "rigtally")), "--help")
		var out, errs bytes.Buffer
		if status := run(t.Context(), args, strings.NewReader(""), &out, &errs, []string{"COLUMNS=80"}); status != 0 {
			t.Fatalf("%v: status %d, %s", args, status, errs.String())
		}
		lines := strings.Split(out.String(), "\n")
		for i, line := range lines {
			if utf8.RuneCountInString(line) > 80 {
				t.Errorf("%v: %q is wider than 80 columns", args, line)
			}
			if line == "Usage:" {
				break
			}
			if n := utf8.RuneCountInString(line); n > 0 && n < 20 && i > 0 && len(lines[i-1]) > 60 && lines[i+1] != "" && !strings.ContainsAny(line[len(line)-1:], ".:;") {
				t.Errorf("%v: the line %q is broken off", args, line)
			}
		}
	}
}
