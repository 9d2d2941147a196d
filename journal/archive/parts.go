package archive

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"strconv"
	"strings"
)

// A file is its first line and parts. A part is
//
//	number from 0, length of its title, length of its data   uint32, uint16, uint32, big-endian
//	title                                                    what it holds, in words
//	CRC-32C of the above                                     so that lengths and title can be believed
//	data
//	SHA-256 of the sum of the part before and all the above
//
// so that whatever is changed, cut off, doubled, left out or moved is found, and where. The last part is called "end";
// its sum stands for the whole file.
const (
	firstLine = "rigtally archive\n"
	endTitle  = "end"

	numbersSize  = 4 + 2 + 4
	mostPartData = 512 << 20 // bytes; parts are of about partSize, but a row is never split
	partSize     = 1 << 20
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// Hash is a SHA-256.
type Hash [sha256.Size]byte

func (s Hash) String() string { return fmt.Sprintf("%x", s[:]) }

// MarshalText writes it in hexadecimal.
func (s Hash) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (s *Hash) UnmarshalText(text []byte) error {
	if _, err := fmt.Sscanf(string(text), "%64x", &text); err != nil || len(text) != len(s) {
		return errors.New("a SHA-256 has 64 hexadecimal digits")
	}
	copy(s[:], text)
	return nil
}

// Damage is where a file is not as it was written.
type Damage struct {
	From, To int64  // bytes of the file, To not included
	In       string // the part, as far as it is known; "" for the first line
	Why      string
}

func (d *Damage) Error() string {
	in := d.In
	if in != "" {
		in += ", "
	}
	return fmt.Sprintf("the backup is damaged in %sbytes %s–%s: %s; use another backup, or a copy of this one", in, grouped(d.From+1), grouped(d.To), d.Why)
}

// grouped writes a number as in 12,001.
func grouped(n int64) string {
	text := strconv.FormatInt(n, 10)
	for i := len(text) - 3; i > 0; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return text
}

// partWriter writes a file part by part.
type partWriter struct {
	to     io.Writer
	number uint32
	sum    Hash // of the part before
}

func newPartWriter(to io.Writer) (*partWriter, error) {
	_, err := io.WriteString(to, firstLine)
	return &partWriter{to: to, sum: sha256.Sum256([]byte(firstLine))}, err
}

func (w *partWriter) write(title string, data []byte) error {
	if len(data) > mostPartData {
		return fmt.Errorf("%s: a single row of %s bytes is more than a backup can hold", title, grouped(int64(len(data))))
	}
	head := binary.BigEndian.AppendUint32(nil, w.number)
	head = binary.BigEndian.AppendUint16(head, uint16(len(title)))
	head = binary.BigEndian.AppendUint32(head, uint32(len(data)))
	head = append(head, title...)
	head = binary.BigEndian.AppendUint32(head, crc32.Checksum(head, castagnoli))
	w.sum = sumOf(w.sum, head, data)
	w.number++
	for _, b := range [][]byte{head, data, w.sum[:]} {
		if _, err := w.to.Write(b); err != nil {
			return err
		}
	}
	return nil
}

func sumOf(before Hash, head, data []byte) (s Hash) {
	h := sha256.New()
	h.Write(before[:])
	h.Write(head)
	h.Write(data)
	h.Sum(s[:0])
	return s
}

// partReader reads a file part by part, and holds each against its sum.
type partReader struct {
	from   io.Reader
	at     int64 // bytes read
	number uint32
	sum    Hash
	last   string // title of the part before
}

// ErrNoArchive says that a file is something else.
var ErrNoArchive = errors.New(`this is no backup by "rigtally backups", or its first line was changed`)

func newPartReader(from io.Reader) (*partReader, error) {
	r := &partReader{from: from, sum: sha256.Sum256([]byte(firstLine))}
	line := make([]byte, len(firstLine))
	if err := r.fill(line); err != nil && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, err
	}
	if string(line) != firstLine {
		return nil, ErrNoArchive
	}
	return r, nil
}

func (r *partReader) fill(b []byte) error {
	n, err := io.ReadFull(r.from, b)
	r.at += int64(n)
	if errors.Is(err, io.EOF) {
		err = io.ErrUnexpectedEOF
	}
	return err
}

// part is one part of a file.
type part struct {
	title string
	data  []byte
}

// next reads the next part. After the one called "end" comes io.EOF, or a Damage where the file goes on.
func (r *partReader) next() (part, error) {
	start := r.at
	if r.last == endTitle {
		if n, err := io.Copy(io.Discard, r.from); err != nil || n > 0 {
			return part{}, cmpError(err, &Damage{start, start + n, "", "there is more after its end"})
		}
		return part{}, io.EOF
	}
	head := make([]byte, numbersSize)
	if err := r.fill(head); err != nil {
		return part{}, r.cut(err, start, r.after())
	}
	titleLength, dataLength := int(binary.BigEndian.Uint16(head[4:])), int64(binary.BigEndian.Uint32(head[6:]))
	head = append(head, make([]byte, titleLength+crc32.Size)...)
	if err := r.fill(head[numbersSize:]); err != nil {
		return part{}, r.cut(err, start, r.after())
	}
	believed := len(head) - crc32.Size
	if crc32.Checksum(head[:believed], castagnoli) != binary.BigEndian.Uint32(head[believed:]) {
		return part{}, &Damage{start, r.at, r.after(), "its heading was changed"}
	}
	title := string(head[numbersSize:believed])
	if number := binary.BigEndian.Uint32(head); number != r.number {
		return part{}, &Damage{start, r.at, title, fmt.Sprintf("part %s stands where part %s belongs, so parts were doubled, moved or left out", grouped(int64(number)+1), grouped(int64(r.number)+1))}
	}
	if dataLength > mostPartData {
		return part{}, &Damage{start, r.at, title, "it is longer than a part can be"}
	}
	var data bytes.Buffer
	n, err := io.CopyN(&data, r.from, dataLength)
	r.at += n
	var sum Hash
	if err == nil {
		err = r.fill(sum[:])
	}
	if err != nil {
		return part{}, r.cut(err, start, title)
	}
	r.sum = sumOf(r.sum, head, data.Bytes())
	if sum != r.sum {
		return part{}, &Damage{start, r.at, title, "what it holds was changed"}
	}
	r.number, r.last = r.number+1, title
	return part{title, data.Bytes()}, nil
}

// after says where a part stands whose title can't be believed.
func (r *partReader) after() string { return "what comes after " + strings.TrimPrefix(r.last, "the ") }

// cut says that the file ends too early, unless it could not be read.
func (r *partReader) cut(err error, start int64, in string) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return &Damage{start, max(r.at, start+1), in, "the file ends there, so it was cut off"}
	}
	return fmt.Errorf("read the backup: %w", err)
}

func cmpError(err error, otherwise error) error {
	if err != nil {
		return fmt.Errorf("read the backup: %w", err)
	}
	return otherwise
}
