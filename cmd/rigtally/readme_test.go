package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"rigtally/internal/pgserver/pgtest"
)

// readmeCommands are the commands of the program that README shows: those of its blocks, and those named in a
// sentence, without those with a word to put something in place of, such as OUTCOME.
func readmeCommands(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(projectFolder(t), "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	var list []string
	placeholder := regexp.MustCompile(`\b[A-Z]{4,}\b`)
	for i, part := range strings.Split(string(text), "```") {
		var found []string
		if i%2 == 1 {
			found = regexp.MustCompile(`(?m)^bin/rigtally (?:.*\\\n)*.*$`).FindAllString(part, -1)
		} else {
			for _, m := range regexp.MustCompile("`(bin/rigtally [^`]*)`").FindAllStringSubmatch(part, -1) {
				if m[1] = strings.ReplaceAll(m[1], "\n", " "); !placeholder.MatchString(m[1]) {
					found = append(found, m[1])
				}
			}
		}
		list = append(list, found...)
	}
	return list
}

// Ensure that each command that README shows works as it stands there, in a journal of the demo's seasons.
func TestCommandsOfReadme(t *testing.T) {
	t.Parallel()
	home, work := pgtest.DataDir(t), t.TempDir()
	prepareReadme(t, home, work)
	commands := readmeCommands(t)
	if len(commands) < 20 {
		t.Errorf("found only %q", commands)
	}
	for _, line := range commands {
		switch args := strings.Fields(strings.TrimPrefix(line, "bin/rigtally")); args[0] {
		case "log":
			if len(args) == 1 {
				continue // asks step by step, which needs a terminal
			}
		case "serve":
			s, address := start(t, home, "serve")
			wantPage(t, s.client, address)
			s.stop(t, os.Interrupt)
			continue
		}
		cmd := programAt(t, home)
		cmd.Path, cmd.Args, cmd.Dir = "/bin/sh", []string{"sh", "-c", line}, work
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Errorf("%s\n%v\n%s", line, err, out)
		}
	}
	outputOf(t, home, "database", "stop")
}

// prepareReadme puts a demo journal into the folder home, and into work what the commands name: the program, a
// spreadsheet, and the sessions of an angler's season.
func prepareReadme(t *testing.T, home, work string) {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := filepath.Abs(sampleFile("guide-book-2025.csv"))
	if err != nil {
		t.Fatal(err)
	}
	backup := filepath.Join(work, "demo.jsonl")
	mustRun(t, demoAt(t, 60), "export", "--to", backup)
	outputOf(t, home, "database", "start")
	outputOf(t, home, "import", backup)
	outputOf(t, home, "log", "--angler", "J. Felt", "--water", "Little Marrow", "--date", "2026-05-03", "--junction", "blood", "--minutes", "90", "--tangles", "1")
	if err := os.Mkdir(filepath.Join(work, "bin"), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, target := range map[string]string{"bin/rigtally": exe, "season.csv": sheet, ".postgres": filepath.Join(projectFolder(t), ".postgres")} {
		if err := os.Symlink(target, filepath.Join(work, name)); err != nil {
			t.Fatal(err)
		}
	}
}
