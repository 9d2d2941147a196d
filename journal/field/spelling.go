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
		switch {
		case unicode.Is(unicode.Mn, r):
		case r == 'ß':
			b.WriteString("ss")
		case r == 'ø':
			b.WriteByte('o')
		case r == 'æ':
			b.WriteString("ae")
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Compact keeps the letters and digits of a word only: "Fig. 8" → fig8.
func Compact(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, Plain(s))
}

// Dictionary finds a word of a vocabulary by any of its spellings.
func Dictionary(words []Word) map[string]string {
	d := make(map[string]string, 4*len(words))
	for _, w := range words {
		d[Compact(w.Word)] = w.Word
		for s := range strings.SplitSeq(w.Also, ",") {
			d[Compact(s)] = w.Word
		}
	}
	delete(d, "")
	return d
}
