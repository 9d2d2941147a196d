package grid

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"unicode/utf8"
)

// maxToken bounds one tag or one run of text, and maxDepth how deep elements are nested:
// a cell holds 32,767 letters at most, and no workbook nests deeper than some dozen elements.
const (
	maxToken = 1 << 20
	maxDepth = 200
)

var errXML = errors.New("its XML is damaged")

// kind says what a scanner has read.
type kind int

const (
	endOfPart kind = iota
	startElement
	endElement
	text
)

// attr is an attribute of a tag, unescaped once it is asked for.
type attr struct {
	prefix, name, value []byte
	unescaped           bool
}

// scanner reads the XML of workbooks piece by piece. Unlike encoding/xml it takes no more memory
// than the largest piece, however large the part, and is several times as fast: a sheet of
// 100,000 rows is some 70 MB of XML. Names are without prefix; what it hands out is true until the
// next call of next.
type scanner struct {
	r        io.Reader
	buf      []byte
	pos, end int
	ended    error // what the reader said last

	name   []byte
	attrs  []attr
	text   []byte
	depth  int
	closed bool  // the tag read last closes itself
	bad    error // of an attribute that was asked for
}

func newScanner(r io.Reader) *scanner {
	return &scanner{r: r, buf: make([]byte, 1<<16)}
}

// next reads the next start, end or text; comments and instructions are passed over.
func (s *scanner) next() (kind, error) {
	if s.bad != nil {
		return 0, s.bad
	}
	if s.closed {
		s.closed = false
		s.depth--
		return endElement, nil
	}
	for {
		if s.pos == s.end {
			if err := s.fill(); err == io.EOF && s.depth == 0 {
				return endOfPart, nil
			} else if err != nil {
				return 0, s.broken(err)
			}
		}
		if s.buf[s.pos] != '<' {
			n, err := s.find("<", 0)
			if err == io.EOF && s.depth == 0 {
				s.pos = s.end
				return endOfPart, nil
			} else if err != nil {
				return 0, s.broken(err)
			}
			s.text = s.buf[s.pos : s.pos+n]
			s.pos += n
			if s.depth == 0 {
				continue
			}
			s.text, err = unescape(s.text)
			return text, err
		}
		k, skipped, err := s.markup()
		if err != nil {
			return 0, s.broken(err)
		}
		if !skipped {
			return k, nil
		}
	}
}

// broken says what the end of a part within an element means.
func (s *scanner) broken(err error) error {
	if err == io.EOF {
		return errXML
	}
	return err
}

// markup reads what begins with "<".
func (s *scanner) markup() (k kind, skipped bool, err error) {
	for s.end-s.pos < 9 && err == nil { // as long as "<![CDATA["
		err = s.fill()
	}
	if err != nil && err != io.EOF {
		return 0, false, err
	}
	switch at := s.buf[s.pos:s.end]; {
	case bytes.HasPrefix(at, []byte("<!--")):
		return 0, true, s.skip("-->", 4)
	case bytes.HasPrefix(at, []byte("<?")):
		return 0, true, s.skip("?>", 2)
	case bytes.HasPrefix(at, []byte("<![CDATA[")):
		n, err := s.find("]]>", 9)
		if err != nil {
			return 0, false, err
		}
		s.text = s.buf[s.pos+9 : s.pos+n]
		s.pos += n + 3
		if s.depth == 0 || !utf8.Valid(s.text) || bytes.IndexByte(s.text, 0) >= 0 {
			return 0, false, errXML
		}
		return text, false, nil
	case bytes.HasPrefix(at, []byte("<!")): // no workbook declares a document type, which could define entities
		return 0, false, errXML
	case bytes.HasPrefix(at, []byte("</")):
		n, err := s.find(">", 2)
		if err != nil {
			return 0, false, err
		}
		_, s.name = split(bytes.TrimSpace(s.buf[s.pos+2 : s.pos+n]))
		s.pos += n + 1
		if s.depth--; s.depth < 0 {
			return 0, false, errXML
		}
		return endElement, false, nil
	}
	n, err := s.tagEnd()
	if err != nil {
		return 0, false, err
	}
	tag := s.buf[s.pos+1 : s.pos+n]
	s.pos += n + 1
	if s.depth++; s.depth > maxDepth {
		return 0, false, errXML
	}
	return startElement, false, s.tag(tag)
}

// tag takes a tag apart into name and attributes.
func (s *scanner) tag(tag []byte) error {
	if len(tag) > 0 && tag[len(tag)-1] == '/' {
		s.closed = true
		tag = tag[:len(tag)-1]
	}
	n := 0
	for n < len(tag) && !blank(tag[n]) {
		n++
	}
	if _, s.name = split(tag[:n]); len(s.name) == 0 {
		return errXML
	}
	s.attrs = s.attrs[:0]
	for tag = trimLeft(tag[n:]); len(tag) > 0; tag = trimLeft(tag) {
		is := bytes.IndexByte(tag, '=')
		if is < 1 {
			return errXML
		}
		var a attr
		a.prefix, a.name = split(bytes.TrimSpace(tag[:is]))
		tag = trimLeft(tag[is+1:])
		if len(tag) < 2 || tag[0] != '"' && tag[0] != '\'' {
			return errXML
		}
		close := bytes.IndexByte(tag[1:], tag[0])
		if close < 0 {
			return errXML
		}
		a.value = tag[1 : close+1]
		tag = tag[close+2:]
		s.attrs = append(s.attrs, a)
	}
	return nil
}

// tagEnd finds the ">" that closes a tag, past those in quotes.
func (s *scanner) tagEnd() (int, error) {
	var quote byte
	for n := 1; ; n++ {
		if s.pos+n == s.end {
			if err := s.fill(); err != nil {
				return 0, err
			}
		}
		switch c := s.buf[s.pos+n]; {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '>':
			return n, nil
		case c == '<':
			return 0, errXML
		}
	}
}

// find returns how far away something is, looked for from an offset on.
func (s *scanner) find(what string, from int) (int, error) {
	for {
		if at := s.buf[s.pos:s.end]; len(at) >= from {
			if n := bytes.Index(at[from:], []byte(what)); n >= 0 {
				return from + n, nil
			}
			from = max(from, len(at)-len(what)+1)
		}
		if err := s.fill(); err != nil {
			return 0, err
		}
	}
}

// skip passes over everything up to and with an end, however long.
func (s *scanner) skip(end string, from int) error {
	s.pos += from
	for {
		at := s.buf[s.pos:s.end]
		if n := bytes.Index(at, []byte(end)); n >= 0 {
			s.pos += n + len(end)
			return nil
		}
		s.pos = max(s.pos, s.end-len(end)+1)
		if err := s.fill(); err != nil {
			return err
		}
	}
}

// fill reads on, keeping what is not handed out yet.
func (s *scanner) fill() error {
	if s.ended != nil {
		return s.ended
	}
	if s.pos > 0 {
		s.end = copy(s.buf, s.buf[s.pos:s.end])
		s.pos = 0
	}
	if s.end == len(s.buf) {
		if len(s.buf) >= maxToken {
			return errXML
		}
		s.buf = append(s.buf, make([]byte, len(s.buf))...)
	}
	for range 100 { // a reader may return nothing a few times
		n, err := s.r.Read(s.buf[s.end:])
		s.end += n
		s.ended = err
		if n > 0 {
			return nil
		}
		if err != nil {
			return err
		}
	}
	return io.ErrNoProgress
}

// attr returns an attribute of the tag read last, "" if it has none. Prefixes that programs
// use for what the format does not have are left out.
func (s *scanner) attr(name string) string { return string(s.attrBytes(name)) }

func (s *scanner) attrBytes(name string) []byte {
	for i := range s.attrs {
		a := &s.attrs[i]
		if string(a.name) != name || string(a.prefix) == "calcext" || string(a.prefix) == "loext" {
			continue
		}
		if !a.unescaped {
			var err error
			if a.value, err = unescape(a.value); err != nil {
				s.bad = err
			}
			a.unescaped = true
		}
		return a.value
	}
	return nil
}

// is reports whether an attribute says yes.
func (s *scanner) is(name string) bool {
	v := s.attr(name)
	return v == "1" || v == "true" || v == "on"
}

// content reads all text of the element whose start was read last, up to its end, into a buffer.
func (s *scanner) content(out []byte) ([]byte, error) {
	out = out[:0]
	for depth := s.depth; ; {
		k, err := s.next()
		switch {
		case err != nil:
			return nil, err
		case k == text && s.depth == depth:
			if out = append(out, s.text...); len(out) > maxToken {
				return nil, errXML
			}
		case k == endElement && s.depth < depth:
			return out, nil
		}
	}
}

// passOver reads up to the end of the element whose start was read last.
func (s *scanner) passOver() error {
	for depth := s.depth; ; {
		k, err := s.next()
		if err != nil || k == endElement && s.depth < depth {
			return err
		}
	}
}

// each calls a function at the start of every element in the part; what it reads itself is not met again.
func (s *scanner) each(do func(name string) error) error {
	for {
		k, err := s.next()
		if err != nil || k == endOfPart {
			return err
		}
		if k == startElement {
			if err := do(string(s.name)); err != nil {
				return err
			}
		}
	}
}

func blank(c byte) bool { return c == ' ' || c == '\n' || c == '\t' || c == '\r' }

func trimLeft(b []byte) []byte {
	for len(b) > 0 && blank(b[0]) {
		b = b[1:]
	}
	return b
}

func split(name []byte) (prefix, local []byte) {
	if colon := bytes.IndexByte(name, ':'); colon >= 0 {
		return name[:colon], name[colon+1:]
	}
	return nil, name
}

// unescape writes what references stand for in their place; it is never longer.
func unescape(b []byte) ([]byte, error) {
	out := b
	if at := bytes.IndexByte(b, '&'); at >= 0 {
		out = b[:at]
		for b = b[at:]; len(b) > 0; {
			if b[0] != '&' {
				n := bytes.IndexByte(b, '&')
				if n < 0 {
					n = len(b)
				}
				out, b = append(out, b[:n]...), b[n:]
				continue
			}
			semi := bytes.IndexByte(b[:min(len(b), 12)], ';')
			if semi < 0 {
				return nil, errXML
			}
			r, err := reference(string(b[1:semi]))
			if err != nil {
				return nil, err
			}
			out, b = utf8.AppendRune(out, r), b[semi+1:]
		}
	}
	if !utf8.Valid(out) || bytes.IndexByte(out, 0) >= 0 {
		return nil, fmt.Errorf("%w: it is not written in UTF-8", errXML)
	}
	return out, nil
}

func reference(name string) (rune, error) {
	switch name {
	case "lt":
		return '<', nil
	case "gt":
		return '>', nil
	case "amp":
		return '&', nil
	case "quot":
		return '"', nil
	case "apos":
		return '\'', nil
	}
	if len(name) < 2 || name[0] != '#' {
		return 0, errXML
	}
	digits, base := name[1:], 10
	if digits[0] == 'x' || digits[0] == 'X' {
		digits, base = digits[1:], 16
	}
	n, err := strconv.ParseUint(digits, base, 21)
	if err != nil || n == 0 || !utf8.ValidRune(rune(n)) {
		return 0, errXML
	}
	return rune(n), nil
}
