package door

import (
	"embed"
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"rigtally/journal"
)

// Lengths of a passphrase in characters. NIST SP 800-63B-4, 3.1.1.2, wants 15 or more of one that is used alone, and
// 64 or more to be allowed.
const (
	leastPassphrase = 15
	mostPassphrase  = 256
)

// knownFolder holds the passwords that are used most, which the build fetches.
//
//go:embed known
var knownFolder embed.FS

// errNoList says that the program was built without them.
var errNoList = errors.New("this program was built without its list of known passwords; build it with make build")

func readKnown() (string, error) {
	text, err := knownFolder.ReadFile("known/passwords.txt")
	if err != nil {
		return "", errNoList
	}
	return string(text), nil
}

// plainPassphrase is a passphrase as it is hashed: each character written in one way (NFKC), so that every keyboard's
// is the same one.
func plainPassphrase(typed string) string { return norm.NFKC.String(typed) }

// checkPassphrase says why a passphrase is not good enough. There are no rules of composition: it may be of any
// characters, as long as it is long, and is neither what everybody uses nor what stands beside it. mine are the words
// that everybody knows of the person.
func checkPassphrase(passphrase string, mine ...string) error {
	n := utf8.RuneCountInString(passphrase)
	list, err := readKnown()
	switch {
	case err != nil:
		return err
	case n < leastPassphrase:
		return refuse("the passphrase has %d characters; give it %d or more. Four or five words that have nothing to do with each other are easy to keep in mind", n, leastPassphrase)
	case n > mostPassphrase:
		return refuse("the passphrase has %d characters; give it %d at most", n, mostPassphrase)
	case !varied(passphrase):
		return refuse("the passphrase repeats itself or counts up; choose words instead")
	case madeOf(passphrase, mine):
		return refuse("the passphrase is little more than your name or that of the journal; choose words that nobody would try")
	case known(passphrase, list):
		return refuse("the passphrase is made of passwords that are used most, which are tried first; choose words that have nothing to do with each other")
	}
	return nil
}

func refuse(says string, args ...any) error {
	return &journal.Invalid{Problems: []string{fmt.Sprintf(says, args...)}}
}

// varied reports whether a text has eight characters or more that neither repeat the one before nor count on from it,
// nor come again as they came.
func varied(text string) bool {
	turns := 0
	var before rune
	for _, c := range text {
		if step := c - before; step < -1 || step > 1 {
			turns++
		}
		before = c
	}
	half := len(text)
	for n := 1; n <= len(text)/2; n++ { // the shortest text that it is made of
		if strings.HasPrefix(strings.Repeat(text[:n], len(text)/n+1), text) {
			half = n
			break
		}
	}
	return turns >= 8 && half >= 8
}

// madeOf reports whether little is left of a text without some words.
func madeOf(text string, words []string) bool {
	left := only(text, unicode.IsLetter, unicode.IsDigit)
	for _, w := range words {
		for _, part := range append(strings.Fields(w), w) {
			if part = only(part, unicode.IsLetter, unicode.IsDigit); utf8.RuneCountInString(part) >= 3 {
				left = strings.ReplaceAll(left, part, "")
			}
		}
	}
	return utf8.RuneCountInString(left) < 6
}

// known reports whether a text is a password that is used most, or two of them, whatever digits and marks there are.
func known(text, list string) bool {
	used := map[string]bool{}
	for line := range strings.Lines(list) {
		line = strings.TrimSpace(line)
		used[line] = true
		used[only(line, unicode.IsLetter)] = true
	}
	delete(used, "")
	for _, whole := range []string{strings.ToLower(text), only(text, unicode.IsLetter)} {
		if used[whole] {
			return true
		}
		for i := range whole {
			if used[whole[:i]] && used[whole[i:]] {
				return true
			}
		}
	}
	return false
}

// only is what a text has of some kinds of character, letters as small ones.
func only(text string, kinds ...func(rune) bool) string {
	return strings.Map(func(c rune) rune {
		for _, is := range kinds {
			if is(c) {
				return unicode.ToLower(c)
			}
		}
		return -1
	}, text)
}
