package terminal

import (
	"errors"
	"fmt"
	"strings"

	"rigtally/journal"
)

// Misuse says that the program was asked in a wrong way.
type Misuse struct{ err error }

func (e *Misuse) Error() string { return e.err.Error() }
func (e *Misuse) Unwrap() error { return e.err }

// Misusef makes a Misuse, as fmt.Errorf makes an error.
func Misusef(format string, args ...any) error { return &Misuse{fmt.Errorf(format, args...)} }

// Misused makes a Misuse of any error.
func Misused(err error) error { return &Misuse{err} }

// IsMisuse reports whether an error is one of how the program was asked.
func IsMisuse(err error) bool {
	var wrong *Misuse
	return errors.As(err, &wrong)
}

// OfQuestion makes a Misuse of what is wrong with a question rather than with the journal.
func OfQuestion(err error) error {
	if journal.IsInvalid(err) {
		return Misused(err)
	}
	return err
}

// Guess ends a sentence about a word that is not known: it asks whether the closest of those known was meant, as it
// is written after a prefix, and says otherwise when none is close.
func Guess(prefix, word string, known []string, otherwise string) string {
	if guess := closest(word, known); guess != "" {
		return fmt.Sprintf("; did you mean %q?", prefix+guess)
	}
	return otherwise
}

// closest returns the word that differs from the given one by no more than a
// slip of the fingers, or "".
func closest(word string, words []string) string {
	best, least := "", 1+max(1, len(word)/4)
	for _, w := range words {
		if d := edits(strings.ToLower(word), strings.ToLower(w)); d < least {
			best, least = w, d
		}
	}
	return best
}

// edits counts the letters to add, drop, change or swap with their neighbor to
// turn a into b.
func edits(a, b string) int {
	x, y := []rune(a), []rune(b)
	rows := make([][]int, len(x)+1)
	for i := range rows {
		rows[i] = make([]int, len(y)+1)
		rows[i][0] = i
	}
	for j := range y {
		rows[0][j+1] = j + 1
	}
	for i := range x {
		for j := range y {
			change := 1
			if x[i] == y[j] {
				change = 0
			}
			d := min(rows[i][j+1]+1, rows[i+1][j]+1, rows[i][j]+change)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				d = min(d, rows[i-1][j-1]+1)
			}
			rows[i+1][j+1] = d
		}
	}
	return rows[len(x)][len(y)]
}
