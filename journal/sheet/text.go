package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// maxFile is the largest spreadsheet that is read, some millions of rows.
const maxFile = 512 << 20

// readText reads a whole text file into UTF-8 and names its encoding.
func readText(r io.Reader) (text, encoding string, err error) {
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
	text, encoding = decode(b)
	for _, c := range text {
		if c == 0 {
			return "", "", errors.New("the file holds zero bytes, so it is no CSV file or was damaged; save it as CSV (UTF-8) again")
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

// decode turns UTF-8, UTF-16 with or without a byte-order mark, or else
// Windows-1252 into UTF-8.
func decode(b []byte) (text, encoding string) {
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
	decoded, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil { // every byte has a meaning, so this cannot be
		return string(bytes.ToValidUTF8(b, []byte("?"))), "UTF-8 with errors"
	}
	return string(decoded), "Windows-1252"
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
