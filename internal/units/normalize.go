package units

import (
	"strings"
	"unicode"
)

// spellings maps what phones, word processors and spreadsheets put in place of
// plain characters. A vulgar fraction gets a space before it, so that 6½ is
// not read as 61/2.
var spellings = map[rune]string{
	'½': " 1/2", '¼': " 1/4", '¾': " 3/4", '⅛': " 1/8", '⅜': " 3/8", '⅝': " 5/8", '⅞': " 7/8",
	'⅓': " 1/3", '⅔': " 2/3", '⅕': " 1/5", '⅖': " 2/5", '⅗': " 3/5", '⅘': " 4/5", '⅙': " 1/6", '⅚': " 5/6",
	'⁄': "/", '∕': "/",
	'“': `"`, '”': `"`, '„': `"`, '″': `"`, '‟': `"`, '˝': `"`,
	'‘': "'", '’': "'", '′': "'", '‛': "'", '´': "'", '`': "'",
	'−': "-", '–': "-", '—': "-", '‐': "-", '‑': "-",
	'×': "x", 'º': "°", '˚': "°", '℃': "°c", '℉': "°f",
	'\u200b': "", '\u200e': "", '\u200f': "", '\ufeff': "",
}

// normalize gives text the parser can read: lower case, single spaces, plain
// quotes, hyphens and slashes, m3 for m³, n/d for ½.
func normalize(s string) string {
	var b strings.Builder
	var last rune
	for _, r := range s {
		if r >= '！' && r <= '～' { // full-width forms of ASCII
			r -= '！' - '!'
		}
		text, known := spellings[r]
		switch {
		case known:
		case r == '³' && unicode.IsLetter(last): // m³, but never 12³ for 123
			text = "3"
		case unicode.IsSpace(r):
			text = " "
		default:
			text = string(unicode.ToLower(r))
		}
		b.WriteString(text)
		last = r
	}
	text := strings.Join(strings.Fields(b.String()), " ")
	return strings.ReplaceAll(text, "''", `"`)
}

// IsBlank reports whether s is a way of writing that there is no value: nothing,
// spaces, dashes, n/a.
func IsBlank(s string) bool {
	if s == "" {
		return true
	}
	if first := s[0] | 0x20; first >= 'a' && first <= 'z' && first != 'n' || strings.ContainsAny(s, "0123456789") {
		return false // a word, of which only n/a and its like say nothing, or a number
	}
	switch text := normalize(s); text {
	case "n/a", "na", "n.a.", "#n/a":
		return true
	default:
		return strings.Trim(text, "- ") == ""
	}
}

func startsWithLetter(s string) bool {
	for _, r := range s {
		return unicode.IsLetter(r)
	}
	return false
}
