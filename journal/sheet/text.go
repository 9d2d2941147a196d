package sheet

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// maxFile is the largest spreadsheet that is read, some millions of rows.
const maxFile = 512 << 20

// readText reads a whole text file into UTF-8 and names its encoding, which headers
// that are known may give away.
func readText(r io.Reader, known func(header string) bool) (text, encoding string, err error) {
	b, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return "", "", fmt.Errorf("read the file: %w", err)
	}
	if len(b) > maxFile {
		return "", "", fmt.Errorf("the file is larger than %d MB; split it", maxFile>>20)
	}
	if what := notText(b); what != "" {
		return "", "", fmt.Errorf("this is %s, not a CSV file; open it in a spreadsheet program, save it as CSV (UTF-8) and import that", what)
	}
	text, encoding = decode(b, known)
	for _, c := range text {
		if c == 0 {
			return "", "", errors.New("the file has zero bytes in it, so it is not a CSV file or was damaged; save it as CSV (UTF-8) again")
		}
	}
	return text, encoding, nil
}

// notText knows files that people take for a CSV, by their first bytes.
func notText(b []byte) string {
	for _, f := range []struct{ start, what string }{
		{"PK\x03\x04", "a workbook (xlsx or ods)"},
		{"\xd0\xcf\x11\xe0", "an old Excel workbook (xls)"},
		{"%PDF", "a PDF"},
		{"\x1f\x8b", "a gzip archive"},
	} {
		if bytes.HasPrefix(b, []byte(f.start)) {
			return f.what
		}
	}
	return ""
}

// records splits CSV text into rows of cells, more forgiving than RFC 4180 in
// what people's programs write: a quotation mark inside an unquoted cell is a
// plain character (6 1/2"), lines may end in CR, LF or both, and an empty line
// is a row, so that row numbers are those a spreadsheet shows.
func records(text string, separator byte) ([][]string, error) {
	var rows [][]string
	s := splitter{text: text, separator: separator}
	width := 1
	for s.at < len(text) {
		row := make([]string, 0, width)
		for more := true; more; {
			var cell string
			var ok bool
			cell, more, ok = s.cell()
			if !ok {
				return nil, fmt.Errorf("row %d, cell %d opens a quotation mark that is never closed; close it, or write the mark twice to mean the mark itself",
					len(rows)+1, len(row)+1)
			}
			row = append(row, cell)
		}
		width = max(width, len(row))
		rows = append(rows, row)
	}
	for len(rows) > 0 && len(rows[len(rows)-1]) == 1 && strings.TrimSpace(rows[len(rows)-1][0]) == "" {
		rows = rows[:len(rows)-1]
	}
	return rows, nil
}

type splitter struct {
	text      string
	separator byte
	at        int
}

// cell takes one cell and reports whether another follows in its row, and
// whether its quotation was closed.
func (s *splitter) cell() (cell string, more, ok bool) {
	if s.at < len(s.text) && s.text[s.at] == '"' {
		var b strings.Builder
		if !s.quoted(&b) {
			return "", false, false
		}
		// What stands between the closing mark and the separator belongs to the cell.
		rest, more := s.plain()
		b.WriteString(rest)
		return b.String(), more, true
	}
	cell, more = s.plain()
	return cell, more, true
}

// quoted takes the text between quotation marks.
func (s *splitter) quoted(b *strings.Builder) bool {
	s.at++
	for {
		n := strings.IndexByte(s.text[s.at:], '"')
		if n < 0 {
			return false
		}
		b.WriteString(s.text[s.at : s.at+n])
		s.at += n + 1
		if s.at >= len(s.text) || s.text[s.at] != '"' {
			return true
		}
		b.WriteByte('"')
		s.at++
	}
}

// plain takes the text up to the next separator or line end, and that.
func (s *splitter) plain() (cell string, more bool) {
	start := s.at
	for s.at < len(s.text) {
		switch s.text[s.at] {
		case s.separator:
			s.at++
			// A separator at the very end of the file has an empty cell after it.
			return s.text[start : s.at-1], true
		case '\n':
			s.at++
			return s.text[start : s.at-1], false
		case '\r':
			end := s.at
			s.at++
			if s.at < len(s.text) && s.text[s.at] == '\n' {
				s.at++
			}
			return s.text[start:end], false
		}
		s.at++
	}
	return s.text[start:], false
}

// separators that are tried, the likeliest first.
const separators = ",;\t|"

// declared takes off the line "sep=;" that spreadsheet programs write before the
// header and do not show.
func declared(text string) (separator byte, rest string) {
	if len(text) < 5 || !strings.EqualFold(text[:4], "sep=") {
		return 0, text
	}
	rest = strings.TrimLeft(text[5:], "\r\n")
	if !strings.ContainsRune(separators, rune(text[4])) || len(rest) == len(text)-5 {
		return 0, text
	}
	return text[4], rest
}

// head returns the first rows, for finding the header.
func head(text string, separator byte) [][]string {
	const lines = 12
	end := 0
	for range lines {
		n := strings.IndexAny(text[end:], "\r\n")
		if n < 0 {
			end = len(text)
			break
		}
		end += n + 1
	}
	rows, err := records(text[:end], separator)
	if err != nil { // a quoted line break at the cut; the whole file is read later
		rows, _ = records(strings.ReplaceAll(text[:end], `"`, ""), separator)
	}
	return rows
}

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
