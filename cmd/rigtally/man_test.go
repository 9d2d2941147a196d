package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
)

// Ensure that every command has a man page with its example, that there are completions for three shells, and that both
// are the same each time.
func TestManPagesAndCompletions(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "1775000000")
	var made [2]map[string]string
	for i := range made {
		dir := t.TempDir()
		mustRun(t, "", "man", dir)
		made[i] = map[string]string{}
		err := filepath.WalkDir(dir, func(name string, d os.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			text, err := os.ReadFile(name)
			made[i][strings.TrimPrefix(name, dir+"/")] = string(text)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for name, text := range made[0] {
		if made[1][name] != text {
			t.Errorf("%s is another the second time", name)
		}
	}
	for _, cmd := range everyCommand(t) {
		page := made[0]["share/man/man1/"+strings.ReplaceAll(cmd.CommandPath(), " ", "-")+".1"]
		if !strings.Contains(page, ".SH EXAMPLE") || !strings.Contains(page, ".TH") {
			t.Errorf("the man page of %s is %q", cmd.CommandPath(), page)
		}
	}
	for _, name := range []string{"bash-completion/completions/rigtally", "zsh/site-functions/_rigtally", "fish/vendor_completions.d/rigtally.fish"} {
		if !strings.Contains(made[0]["share/"+name], "rigtally __complete") && !strings.Contains(made[0]["share/"+name], "__complete") {
			t.Errorf("%s completes nothing", name)
		}
	}
}

// Ensure that names and short ids of the journal are completed, and that completing makes no journal.
func TestCompletionsKnowTheJournal(t *testing.T) {
	t.Parallel()
	url := pgtest.NewDatabase(t)
	mustRun(t, url, "log", "--angler", "J. Felt", "--water", "Little Marrow", "--beat", "Upper glide", "--rig", "Blood short", "--junction", "blood", "--minutes", "60")
	for want, args := range map[string][]string{
		"J. Felt\n":                    {"sessions", "list", "--angler", ""},
		"Little Marrow\n":              {"log", "--water", ""},
		"Upper glide\tLittle Marrow\n": {"sessions", "edit", "last", "--beat", ""},
		"Blood short\n":                {"rigs", "show", ""},
		"last\tthe latest\n":           {"sessions", "delete", ""},
		"J. Felt on Little Marrow\n":   {"sessions", "show", ""},
		"\tLogged the session of ":     {"undo", ""},
		"J. Felt\n:4":                  {"anglers", "merge", "Jon", ""},
		"foul-hook\n":                  {"rates", ""},
		"figure-eight\n":               {"knots", "rename", ""},
	} {
		out := mustRun(t, url, append([]string{"__complete"}, args...)...)
		if args[0] == "knots" {
			if strings.Contains(out, want) {
				t.Errorf("knots that can't be renamed are offered: %s", out)
			}
		} else if !strings.Contains(out, want) {
			t.Errorf("%q: %q is missing in\n%s", args, want, out)
		}
	}
	home := filepath.Join(t.TempDir(), "journal")
	if out := outputOf(t, home, "__complete", "log", "--water", ""); !strings.HasPrefix(out, ":4") {
		t.Errorf("without a journal: %s", out)
	}
	if _, err := os.Stat(home); err == nil {
		t.Error("completing made a journal")
	}
}
