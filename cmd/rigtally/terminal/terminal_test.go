package terminal

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// Ensure that a list keeps to the width, which is 80 where it isn't told, and that its width can be said.
func TestTable(t *testing.T) {
	t.Parallel()
	headings := []string{"Day", "Water", "Id"}
	rows := [][]string{{"2026-05-03", "Little Marrow, the long glide below the second of the three bridges that cross it", "0198"}}
	endless, narrow := 0, 40
	for columns, want := range map[*int]int{nil: usualWidth, &narrow: narrow, &endless: 200} {
		var out bytes.Buffer
		p := New(strings.NewReader(""), &out, &bytes.Buffer{})
		p.Columns = columns
		if err := p.Table(headings, rows); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
		if folded := len(lines) > 2; folded != (columns != &endless) || !strings.Contains(lines[1], "0198") {
			t.Errorf("%d columns:\n%s", want, out.String())
		}
		for _, line := range lines {
			if n := utf8.RuneCountInString(line); n > want {
				t.Errorf("%d of %d columns: %s", n, want, line)
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
