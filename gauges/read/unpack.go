package read

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"path"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"
)

// open gives a reader of a text in UTF-8, unpacked, past the mark that some programs begin a text with. Neither the file nor what
// is packed in it may be larger than the limit.
func (b *book) open(r io.Reader) (*bufio.Reader, error) {
	b.source = b.limit(r, "")
	in := bufio.NewReaderSize(b.source, longestLine)
	start, err := in.Peek(8)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, b.broken(err, "")
	}
	packed := true
	switch {
	case bytes.HasPrefix(start, []byte("\x1f\x8b")):
		in, err = b.gunzip(in)
	case bytes.HasPrefix(start, []byte("PK\x03\x04")):
		in, err = b.unzip(in)
	default:
		packed, err = false, nil
	}
	if err != nil {
		return nil, err
	}
	if packed {
		if start, err = in.Peek(8); err != nil && !errors.Is(err, io.EOF) {
			return nil, b.broken(err, "")
		}
	}
	for _, k := range []struct{ mark, is string }{
		{"PK\x03\x04", "holds a packed file in a packed file; unpack it first"},
		{"\x1f\x8b", "holds a packed file in a packed file; unpack it first"},
		{"\xd0\xcf\x11\xe0", "is a workbook of an older kind, not readings; save its sheet as CSV"},
		{"%PDF", "is a PDF, not readings"},
		{`{\rtf`, "is a document of a word processor, not readings; save it as text"},
	} {
		if bytes.HasPrefix(start, []byte(k.mark)) {
			return nil, b.wrongf("", "%s", k.is)
		}
	}
	if order, policy, is := utf16(start); is {
		b.recoded = true
		in = bufio.NewReaderSize(unicode.UTF16(order, policy).NewDecoder().Reader(in), longestLine)
		start, _ = in.Peek(8)
	}
	if bytes.HasPrefix(start, []byte("\ufeff")) {
		_, _ = in.Discard(len("\ufeff"))
	}
	head := peek(in)
	if bytes.IndexByte(head, 0) >= 0 {
		return nil, b.wrongf("", "is not a text, and no readings can be read from it")
	}
	if i := bytes.IndexByte(head, '\r'); i >= 0 && i+1 < len(head) && bytes.IndexByte(head, '\n') < 0 {
		in = bufio.NewReaderSize(&oldLines{in}, longestLine)
	}
	return in, nil
}

func peek(in *bufio.Reader) []byte {
	start, _ := in.Peek(4096)
	return start
}

// limit reads at most as much as is allowed.
func (b *book) limit(r io.Reader, when string) *limited {
	return &limited{r, b.maxBytes, b.wrongf("", "is larger than %s%s; cut it into parts, by years", megabytes(b.maxBytes), when), nil}
}

// mostPacked are the files that an archive may list; workbooks have some.
const mostPacked = 1000

const onceUnpacked = " once it is unpacked"

func (b *book) gunzip(in io.Reader) (*bufio.Reader, error) {
	z, err := gzip.NewReader(in)
	if err != nil {
		return nil, b.broken(err, "")
	}
	return bufio.NewReaderSize(b.limit(z, onceUnpacked), longestLine), nil
}

// unzip reads an archive of one file. A workbook is an archive too.
func (b *book) unzip(in io.Reader) (*bufio.Reader, error) {
	whole, err := io.ReadAll(in) // its list of contents is at its end
	if err != nil {
		return nil, b.broken(err, "")
	}
	if n := bytes.Count(whole, []byte("PK\x01\x02")); n > mostPacked { // before all of them are listed
		return nil, b.wrongf("", "is a zip archive of %s files; unpack it, and bring in those with readings one by one", thousands(n))
	}
	archive, err := zip.NewReader(bytes.NewReader(whole), int64(len(whole)))
	if err != nil {
		return nil, b.wrongf("", "is a workbook or a zip archive that is cut off or damaged; fetch or save it again")
	}
	var files []*zip.File
	for _, f := range archive.File {
		switch {
		case f.Name == "[Content_Types].xml", f.Name == "mimetype":
			return nil, b.wrongf("", "is a workbook, not readings; save its sheet as CSV")
		case !f.FileInfo().IsDir() && !strings.HasPrefix(f.Name, "__MACOSX/") && !strings.HasPrefix(path.Base(f.Name), "."):
			files = append(files, f)
		}
	}
	if len(files) != 1 {
		return nil, b.wrongf("", "is a zip archive of %d files; unpack it, and bring in those with readings one by one", len(files))
	}
	f, err := files[0].Open()
	if err != nil {
		return nil, b.wrongf("", "is a zip archive that can't be unpacked (%v); unpack it first", err)
	}
	return bufio.NewReaderSize(b.limit(f, onceUnpacked), longestLine), nil
}

// utf16 tells a text in UTF-16, by its mark or by the zeros of its first characters.
func utf16(start []byte) (order unicode.Endianness, policy unicode.BOMPolicy, is bool) {
	switch {
	case bytes.HasPrefix(start, []byte("\xff\xfe")):
		return unicode.LittleEndian, unicode.UseBOM, true
	case bytes.HasPrefix(start, []byte("\xfe\xff")):
		return unicode.BigEndian, unicode.UseBOM, true
	case len(start) < 4:
	case start[0] != 0 && start[1] == 0 && start[2] != 0 && start[3] == 0:
		return unicode.LittleEndian, unicode.IgnoreBOM, true
	case start[0] == 0 && start[1] != 0 && start[2] == 0 && start[3] != 0:
		return unicode.BigEndian, unicode.IgnoreBOM, true
	}
	return order, policy, false
}

// oldLines gives lines that end with a carriage return alone, as old Macs write them, the ends of today.
type oldLines struct{ in io.Reader }

func (o *oldLines) Read(p []byte) (int, error) {
	n, err := o.in.Read(p)
	for i, c := range p[:n] {
		if c == '\r' {
			p[i] = '\n'
		}
	}
	return n, err
}

// charset reads the sets of characters that agencies declare; the first 128 of each are those of UTF-8.
func (b *book) charset(name string, in io.Reader) (io.Reader, error) {
	if b.recoded {
		return in, nil
	}
	switch strings.ToLower(name) {
	case "iso-8859-1", "latin1", "windows-1252", "us-ascii", "ascii":
		return &latinReader{in: in}, nil
	}
	return nil, b.wrongf("", "is written in the characters of %s; save it in UTF-8", clip(name))
}

// latinReader gives ISO 8859-1 as UTF-8.
type latinReader struct {
	in   io.Reader
	rest []byte
}

func (l *latinReader) Read(p []byte) (int, error) {
	if len(l.rest) == 0 {
		var raw [512]byte
		n, err := l.in.Read(raw[:])
		if n == 0 {
			return 0, err
		}
		for _, c := range raw[:n] {
			l.rest = utf8.AppendRune(l.rest, rune(c))
		}
	}
	n := copy(p, l.rest)
	l.rest = l.rest[n:]
	return n, nil
}
