package field

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Plain gives lower case without accents: Gewässer → gewasser.
func Plain(s string) string {
	ascii := true
	for i := 0; i < len(s) && ascii; i++ {
		ascii = s[i] < 0x80
	}
	if ascii {
		return strings.ToLower(s)
	}
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.ToLower(s)) {
		if unicode.Is(unicode.Mn, r) {
			continue
		}
		if plain, ok := letters[r]; ok {
			b.WriteString(plain)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

// letters are those that Unicode does not take apart into a plain one and its accent.
var letters = map[rune]string{'ß': "ss", 'ø': "o", 'æ': "ae", 'œ': "oe", 'ł': "l", 'đ': "d", 'ð': "d", 'þ': "th", 'ı': "i", 'ĳ': "ij"}

// Compact keeps the letters and digits of a word only: "Fig. 8" → fig8.
func Compact(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, Plain(s))
}
