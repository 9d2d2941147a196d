package table

import (
	"regexp"
	"strings"
	"unicode"
)

// Guard marks a text with an apostrophe that a spreadsheet program would run as a formula when it opens a CSV with it (OWASP,
// "CSV Injection"), and one that would look like a marked one. Numbers and dashes alone stay as they are.
func Guard(s string) string {
	if runs(s) && !harmless.MatchString(s) {
		return "'" + s
	}
	return s
}

// Unguard takes the mark of Guard off, and blanks before it.
func Unguard(s string) string {
	if strings.IndexByte(s, '\'') < 0 {
		return s
	}
	if rest, marked := strings.CutPrefix(strings.TrimLeft(s, " "), "'"); marked && runs(rest) {
		return rest
	}
	return s
}

// harmless are numbers, and a sign with nothing behind it.
var harmless = regexp.MustCompile(`^ *[+-]?(([0-9]+([.,][0-9]+)*|[.,][0-9]+)([eE][+-]?[0-9]+)? ?%?)? *$`)

// runs reports whether a text begins like a formula: also in wide characters, and after blanks and quotes, which programs
// may take off.
func runs(s string) bool {
	for _, r := range s {
		switch {
		case strings.ContainsRune("=+-@\t\r\n＝＋－＠", r):
			return true
		case r != '\'' && r != '"' && !unicode.IsSpace(r):
			return false
		}
	}
	return false
}
