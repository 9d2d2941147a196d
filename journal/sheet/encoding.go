package sheet

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// decode turns UTF-8, UTF-16 with or without a byte-order mark, or else the code
// page that fits best into UTF-8.
func decode(b []byte, known func(header string) bool) (text, encoding string) {
	switch {
	case bytes.HasPrefix(b, []byte("\xef\xbb\xbf")) && utf8.Valid(b):
		return string(b[3:]), "UTF-8 with a byte-order mark"
	case bytes.HasPrefix(b, []byte("\xff\xfe")):
		return utf16Text(b[2:], 0), "UTF-16"
	case bytes.HasPrefix(b, []byte("\xfe\xff")):
		return utf16Text(b[2:], 1), "UTF-16"
	case zeros(b, 1) > len(b)/4:
		return utf16Text(b, 0), "UTF-16"
	case zeros(b, 0) > len(b)/4:
		return utf16Text(b, 1), "UTF-16"
	case utf8.Valid(b):
		return string(b), "UTF-8"
	}
	return codePage(b, known)
}

// codePages are what programs save letters with accents in that do not save UTF-8, the likeliest first.
var codePages = []struct {
	name string
	page *charmap.Charmap
}{
	{"Windows-1252", charmap.Windows1252}, {"Windows-1250 (Central Europe)", charmap.Windows1250}, {"Mac OS Roman", charmap.Macintosh},
	{"ISO 8859-2", charmap.ISO8859_2}, {"MS-DOS 850", charmap.CodePage850},
}

// codePage reads a text in the code page in which the most headers are known and the
// fewest letters have signs among them. A word shows whether that was right.
func codePage(b []byte, known func(header string) bool) (text, encoding string) {
	const enough = 64 << 10
	begin := b[:min(len(b), enough)]
	best, headers, oddities := 0, -1, 0
	for i, p := range codePages {
		text, err := p.page.NewDecoder().Bytes(begin)
		if err != nil {
			continue
		}
		h, o := knownHeaders(string(text), known), odd(string(text))
		if cmp.Or(cmp.Compare(h, headers), -cmp.Compare(o, oddities)) > 0 {
			best, headers, oddities = i, h, o
		}
	}
	decoded, err := codePages[best].page.NewDecoder().Bytes(b)
	if err != nil { // every byte has a meaning, so this cannot be
		return string(bytes.ToValidUTF8(b, []byte("?"))), "UTF-8 with errors"
	}
	text = string(decoded)
	for word := range strings.FieldsFuncSeq(text[:min(len(text), enough)], func(r rune) bool { return !unicode.IsLetter(r) }) {
		if strings.ContainsFunc(word, func(r rune) bool { return r >= utf8.RuneSelf && r != utf8.RuneError }) {
			return text, fmt.Sprintf("%s, as “%s” should show", codePages[best].name, shown(word))
		}
	}
	return text, codePages[best].name
}

// knownHeaders counts the headers of the line that has the most, of the first.
func knownHeaders(text string, known func(header string) bool) int {
	const lines = 12
	most, number := 0, 0
	for line := range strings.Lines(text) {
		n := 0
		for cell := range strings.FieldsFuncSeq(line, func(r rune) bool { return strings.ContainsRune(separators+"\"\r\n", r) }) {
			if known(cell) {
				n++
			}
		}
		if most, number = max(most, n), number+1; number == lines {
			break
		}
	}
	return most
}

// odd counts signs beside letters, as in Bia³e for Białe.
func odd(text string) int {
	n := 0
	runes := []rune(text)
	for i, r := range runes {
		if r < utf8.RuneSelf || unicode.IsLetter(r) || slices.Contains([]rune("°²³½’‘“”„«»–—¿¡…·"), r) && !(r == '³' && i+1 < len(runes) && unicode.IsLetter(runes[i+1])) {
			continue
		}
		if unicode.IsControl(r) || r == utf8.RuneError || i > 0 && unicode.IsLetter(runes[i-1]) || i+1 < len(runes) && unicode.IsLetter(runes[i+1]) {
			n++
		}
	}
	return n
}

// zeros counts the zero bytes at even or odd places: Latin letters in UTF-16 have one each.
func zeros(b []byte, from int) int {
	n := 0
	for i := from; i < len(b); i += 2 {
		if b[i] == 0 {
			n++
		}
	}
	return n
}

// utf16Text decodes UTF-16; low is the place of the low byte in each pair.
func utf16Text(b []byte, low int) string {
	codes := make([]uint16, len(b)/2)
	for i := range codes {
		codes[i] = uint16(b[2*i+low]) | uint16(b[2*i+1-low])<<8
	}
	return string(utf16.Decode(codes))
}
