package terminal

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// Ensure that a list folds between words for someone at a terminal, whose width is 80 where it isn't told, and keeps
// each row to its line for a program.
func TestTable(t *testing.T) {
	t.Parallel()
	const id = "0198c5a2-7d1e-7f3a-9b57-3f5c1d2e4a60"
	headings := []string{"Day", "Water", "Id"}
	rows := [][]string{{"2026-05-03", "Little Marrow, the long glide below the second of the three bridges", id}}
	for _, reads := range []bool{true, false} {
		var out bytes.Buffer
		p := New(strings.NewReader(""), &out, &bytes.Buffer{})
		p.Reads = reads
		if err := p.Table(headings, rows); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
		if folded := len(lines) > 2; folded != reads || !strings.Contains(lines[1], id) {
			t.Errorf("read by someone: %v\n%s", reads, out.String())
		}
		for _, line := range lines {
			if n := utf8.RuneCountInString(line); reads && n > usualWidth {
				t.Errorf("%d columns: %s", n, line)
			}
		}
	}
}

func TestGuess(t *testing.T) {
	t.Parallel()
	known := []string{"tangles", "twists", "landed"}
	for word, want := range map[string]string{
		"tangels": `; did you mean "--tangles"?`, // two letters swapped
		"landd":   `; did you mean "--landed"?`,
		"TWISTS":  `; did you mean "--twists"?`,
		"bridge":  "; none is close",
	} {
		if got := Guess("--", word, known, "; none is close"); got != want {
			t.Errorf("%s: %s, want %s", word, got, want)
		}
	}
}

// Ensure that answers come by number, by Enter and after going back, and that what can't be is asked again.
func TestInterview(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	p := New(strings.NewReader("2\n\nback\n7\nno\nyes\n"), &out, &bytes.Buffer{})
	rods := Question{Key: "rod", Text: "Rod", Options: []string{"short", "long"}, Check: func(string) error { return nil }}
	size := Question{Key: "size", Text: "Size", Fallback: "6", Check: func(string) error { return nil }}
	answers, kept := map[string]string{}, 0
	err := p.Asker(t.Context()).Interview(t.Context(), answers, func(map[string]string) []Question {
		return []Question{rods, size, YesNo("sure", "Sure", "yes or no.", Yes)}
	}, func() { kept++ })
	if err != nil || kept != 4 || answers["rod"] != "long" || answers["size"] != "7" || answers["sure"] != No {
		t.Errorf("%v, kept %d times: %v\n%s", err, kept, answers, out.String())
	}
	if !slices.Contains(strings.Split(out.String(), "\n"), "  2  long") {
		t.Errorf("the options are not listed:\n%s", out.String())
	}
}
