package main

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"rigtally/cmd/rigtally/command"
	"rigtally/internal/pgserver/pgtest"
	"rigtally/journal/demo"
	"rigtally/journal/pg"
)

// wideAnswers are commands that answer with lists, tables and long sentences.
var wideAnswers = [][]string{
	{"sessions", "list"}, {"sessions", "deleted"}, {"sessions", "show", "last"},
	{"rigs", "list"}, {"rigs", "check"}, {"rigs", "show", "Quill long tag"},
	{"rates"}, {"rates", "tangles"}, {"rates", "tangles", "--by", "junction"}, {"rates", "foul-hook", "--by", "facing,bulk"}, {"rates", "tangles", "--by", "tag-length:25mm"},
	{"rates", "loss", "--by", "hook-size", "--given", "none"},
	{"curve", "tangles"}, {"plan"}, {"life"}, {"life", "--by", "facing", "--in", "loads"}, {"next"},
	{"claims", "list"}, {"trials", "list"}, {"trials", "show", "Long tag or short (invented)"}, {"trials", "verify", "Long tag or short (invented)"},
	{"season"}, {"season", "--angler", "Wren Tallowby"},
	{"bench", "list"}, {"bench", "deleted"}, {"bench", "compare", "--by", "junction"}, {"bench", "compare", "--by", "facing"}, {"bench", "water"},
	{"check"}, {"recorded", "list"}, {"outfits", "list"}, {"people", "list"},
	{"anglers", "list"}, {"waters", "list"}, {"knots", "list"}, {"undo", "list"}, {"steps", "list"}, {"backups", "list"},
	{"gauges", "list"}, {"gauges", "fill"},
}

// Ensure that at 80 and at 120 columns no line is longer than that, and that no word is lost to it.
func TestAnswersFitTheTerminal(t *testing.T) {
	t.Parallel()
	url, backups := filledAt(t)
	for _, args := range wideAnswers {
		t.Run(strings.Join(args, " "), func(t *testing.T) {
			endless := atColumns(t, url, backups, 0, args...)
			for _, columns := range []int{80, 120} {
				text := atColumns(t, url, backups, columns, args...)
				for line := range strings.Lines(text) {
					if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > columns {
						t.Errorf("%d of %d columns: %s", n, columns, line)
					}
				}
				have := wordsOf(text)
				for word, n := range wordsOf(endless) {
					if have[word] < n {
						t.Errorf("within %d columns %q stands %d times, not %d", columns, word, have[word], n)
					}
				}
				if t.Failed() {
					t.Log("\n" + text)
				}
			}
		})
	}
}

// Ensure that each list is among those.
func TestEachListIsHeldToTheWidth(t *testing.T) {
	t.Parallel()
	tried := map[string]bool{}
	for _, args := range wideAnswers {
		tried[strings.Join(args[:min(2, len(args))], " ")] = true
	}
	for _, cmd := range everyCommand(t) {
		if name := strings.TrimPrefix(cmd.CommandPath(), "rigtally "); cmd.Name() == "list" && !tried[name] {
			t.Errorf("%s is not tried", name)
		}
	}
}

// wordsOf counts the words of a text, whatever stands beside them.
func wordsOf(text string) map[string]int {
	words := map[string]int{}
	for _, word := range strings.Fields(text) {
		if word = strings.Trim(word, ":;,-"); word != "" {
			words[word]++
		}
	}
	return words
}

// atColumns runs the program at a terminal of so many columns.
func atColumns(t *testing.T, url, backups string, columns int, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	p := command.New(strings.NewReader(""), &out, &errs, []string{"HOME=" + t.TempDir(), "RIGTALLY_DATABASE_URL=" + url, "RIGTALLY_BACKUP_DIR=" + backups, fmt.Sprintf("COLUMNS=%d", columns)})
	if status := p.Run(t.Context(), commands(p), args); status != 0 {
		t.Fatalf("rigtally %s: status %d, %s", strings.Join(args, " "), status, errs.String())
	}
	return out.String()
}

// filledAt is a journal with much of what the demo invents, a trial too, and something taken out, and a folder with a backup of it.
func filledAt(t *testing.T) (url, backups string) {
	t.Helper()
	url, backups = pgtest.NewDatabase(t), t.TempDir()
	store, err := pg.Open(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	if _, err := demo.Fill(t.Context(), store, demo.Generate(demo.Seed, 150)); err != nil {
		t.Fatal(err)
	}
	mustRun(t, url, "sessions", "delete", "last")
	mustRun(t, url, "bench", "delete", "last")
	mustRun(t, url, "anglers", "rename", "Wren Tallowby", "Wren Tallowby of the Upper Water")
	gaugeAll(t, url, store)
	mustRun(t, url, "backups", "make", "--migrate-url", pgtest.AsSuperuser(url), "--backup-dir", backups)
	return url, backups
}
