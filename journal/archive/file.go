package archive

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"filippo.io/age"
	"github.com/klauspost/compress/zstd"

	"rigtally/journal"
)

// format is that of the parts and of what they hold; a change that an older program would read wrongly counts it up.
const format = 1

// Why says why a backup was made.
type Why string

// The reasons.
const (
	Daily           Why = "daily"
	BeforeMigration Why = "migration"
	BeforeImport    Why = "import"
	BeforeRestore   Why = "restore"
	BeforeUpgrade   Why = "upgrade"
	ByHand          Why = "hand"
)

// String puts it into words.
func (w Why) String() string {
	switch w {
	case Daily:
		return "of the day"
	case BeforeMigration:
		return "before new tables"
	case BeforeImport:
		return "before an import"
	case BeforeRestore:
		return "before a restore"
	case BeforeUpgrade:
		return "before a newer PostgreSQL"
	}
	return "by hand"
}

// Head is what a backup says of itself to everybody, also where the rest is encrypted.
type Head struct {
	Format     int        `json:"format"`
	MadeAt     time.Time  `json:"made_at"`
	Why        Why        `json:"why"`
	Schema     int64      `json:"schema"` // version of the tables
	Program    string     `json:"program"`
	PostgreSQL int        `json:"postgresql"` // major version
	Journal    journal.ID `json:"journal"`    // its first outfit: backups of several journals may share a folder
	State      string     `json:"state"`      // the same while nothing was written
	Encrypted  bool       `json:"encrypted,omitempty"`
}

// End is what a backup says it holds.
type End struct {
	Tables  []Sum          `json:"tables"`
	Outfits []OutfitNumber `json:"outfits"`
}

// OutfitNumber is how many sessions an outfit has, without those deleted.
type OutfitNumber struct {
	ID       journal.ID `json:"id"`
	Name     string     `json:"name"`
	Sessions int64      `json:"sessions"`
}

// Rows is how many rows all tables have.
func (e End) Rows() (n int64) {
	for _, t := range e.Tables {
		n += t.Rows
	}
	return n
}

// Sessions is how many sessions all outfits have.
func (e End) Sessions() (n int64) {
	for _, o := range e.Outfits {
		n += o.Sessions
	}
	return n
}

// Passphrase is asked for that of an encrypted backup, once it is needed.
type Passphrase func() (string, error)

// workFactor is the power of two of scrypt's cost: about a second and 256 MB. mostWork is what a file may ask for.
const (
	workFactor = 18
	mostWork   = 20
)

// writer writes a backup: its head, parts, its end. Where it is encrypted, the parts of the file hold an age stream, and that
// holds the parts of the backup; so a file can be checked without its passphrase.
type writer struct {
	file    *partWriter
	inner   *partWriter    // same as file unless encrypted
	sealing io.WriteCloser // nil unless encrypted
	pieces  *pieceWriter
	zip     *zstd.Encoder
}

// seals makes what encrypts; nil leaves a backup open.
type seals func() (age.Recipient, error)

// sealedBy encrypts by a passphrase, "" for not at all.
func sealedBy(passphrase string, work int) seals {
	if passphrase == "" {
		return nil
	}
	return func() (age.Recipient, error) {
		r, err := age.NewScryptRecipient(passphrase)
		if err == nil {
			r.SetWorkFactor(work)
		}
		return r, err
	}
}

func newWriter(to io.Writer, head Head, seal seals) (w *writer, err error) {
	w = &writer{}
	if w.zip, err = zstd.NewWriter(nil, zstd.WithEncoderConcurrency(1)); err != nil {
		return nil, err
	}
	if w.file, err = newPartWriter(to); err != nil {
		return nil, err
	}
	head.Format, head.Encrypted = format, seal != nil
	text, err := json.Marshal(head)
	if err == nil {
		err = w.file.write("the head", text)
	}
	if w.inner = w.file; err != nil || seal == nil {
		return w, err
	}
	recipient, err := seal()
	if err != nil {
		return nil, fmt.Errorf("encrypt the backup: %w", err)
	}
	w.pieces = &pieceWriter{to: w.file}
	if w.sealing, err = age.Encrypt(w.pieces, recipient); err != nil {
		return nil, fmt.Errorf("encrypt the backup: %w", err)
	}
	if w.inner, err = newPartWriter(w.sealing); err == nil {
		err = w.inner.write("the head", text) // again, where nobody else can write
	}
	return w, err
}

// part writes a part of the backup.
func (w *writer) part(title string, data []byte) error {
	return w.inner.write(title, w.zip.EncodeAll(data, nil))
}

// close ends the backup, and returns the sum that stands for the whole file.
func (w *writer) close(end End) (Hash, error) {
	text, err := json.Marshal(end)
	if err == nil {
		err = w.inner.write(endTitle, text)
	}
	if err != nil || w.sealing == nil {
		return w.file.sum, err
	}
	if err := errors.Join(w.sealing.Close(), w.pieces.flush()); err != nil {
		return Hash{}, err
	}
	err = w.file.write(endTitle, nil)
	return w.file.sum, err
}

// pieceWriter cuts a stream into parts.
type pieceWriter struct {
	to   *partWriter
	held []byte
	n    int
}

func (p *pieceWriter) Write(b []byte) (int, error) {
	p.held = append(p.held, b...)
	if len(p.held) < partSize {
		return len(b), nil
	}
	return len(b), p.flush()
}

func (p *pieceWriter) flush() error {
	p.n++
	err := p.to.write(fmt.Sprintf("encrypted part %s", grouped(int64(p.n))), p.held)
	p.held = p.held[:0]
	return err
}

// reader reads a backup.
type reader struct {
	file  *partReader
	inner *partReader
	zip   *zstd.Decoder
	head  Head
	end   End // once there is no part more
}

// ErrPassphrase says that a backup can't be opened with the passphrase given.
var ErrPassphrase = errors.New("the passphrase is not the one that the backup was made with; try again. Without it nobody can read the backup")

// readHead begins to read a backup, of which only the head is needed.
func readHead(from io.Reader) (*reader, error) {
	file, err := newPartReader(from)
	if err != nil {
		return nil, err
	}
	p, err := file.next()
	if err != nil {
		return nil, err
	}
	r := &reader{file: file, inner: file}
	if err := json.Unmarshal(p.data, &r.head); err != nil {
		return nil, fmt.Errorf("read the head of the backup: %w", err)
	}
	if r.head.Format > format {
		return nil, fmt.Errorf("this backup was made by a newer rigtally (format %d, this program reads %d); use the newer program", r.head.Format, format)
	}
	return r, nil
}

// newReader begins to read a backup.
func newReader(from io.Reader, passphrase Passphrase) (*reader, error) {
	r, err := readHead(from)
	if err != nil {
		return nil, err
	}
	if r.zip, err = zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxMemory(2*mostPartData)); err != nil {
		return nil, err
	}
	if !r.head.Encrypted {
		return r, nil
	}
	phrase, err := passphrase()
	if err != nil {
		return nil, err
	}
	identity, err := age.NewScryptIdentity(phrase)
	if err != nil {
		return nil, ErrPassphrase // an empty one
	}
	identity.SetMaxWorkFactor(mostWork)
	opened, err := age.Decrypt(&pieceReader{from: r.file}, identity)
	var wrong *age.NoIdentityMatchError
	switch {
	case errors.As(err, &wrong):
		return nil, ErrPassphrase
	case err != nil:
		return nil, fmt.Errorf("open the encrypted backup: %w", err)
	}
	if r.inner, err = newPartReader(opened); err != nil {
		return nil, err
	}
	p, err := r.inner.next()
	if err != nil {
		return nil, err
	}
	outside := r.head
	if err := json.Unmarshal(p.data, &r.head); err != nil {
		return nil, fmt.Errorf("read the head of the backup: %w", err)
	}
	if r.head != outside {
		return nil, errors.New("the head of the backup is not the one that it was encrypted with; use another backup")
	}
	return r, nil
}

// next returns the next part. After the last comes io.EOF, and the end is known.
func (r *reader) next() (part, error) {
	p, err := r.inner.next()
	if err != nil {
		return part{}, err
	}
	if p.title != endTitle {
		p.data, err = r.zip.DecodeAll(p.data, nil)
		if err != nil {
			return part{}, fmt.Errorf("unpack %s of the backup: %w", p.title, err)
		}
		return p, nil
	}
	if err := json.Unmarshal(p.data, &r.end); err != nil {
		return part{}, fmt.Errorf("read the end of the backup: %w", err)
	}
	if r.inner != r.file {
		if _, err := r.inner.next(); !errors.Is(err, io.EOF) {
			return part{}, err
		}
	}
	_, err = r.file.next() // there is none
	return part{}, err
}

// pieceReader is what the parts of a file hold, one after the other.
type pieceReader struct {
	from *partReader
	held bytes.Reader
}

func (p *pieceReader) Read(b []byte) (int, error) {
	for p.held.Len() == 0 {
		next, err := p.from.next()
		if err != nil {
			return 0, err
		}
		if next.title == endTitle {
			return 0, io.EOF
		}
		p.held.Reset(next.data)
	}
	return p.held.Read(b)
}

// Checked is what is known of a backup by its bytes alone.
type Checked struct {
	Head Head
	End  *End // nil: encrypted
	Hash Hash // of the whole file
	Size int64
}

// Check holds every byte of a backup against its sums, without its passphrase. What is wrong is a *Damage.
func Check(from io.Reader) (Checked, error) {
	r, err := readHead(from)
	if err != nil {
		return Checked{}, err
	}
	c := Checked{Head: r.head}
	for {
		p, err := r.file.next()
		if errors.Is(err, io.EOF) {
			c.Hash, c.Size = r.file.sum, r.file.at
			return c, nil
		}
		if err != nil {
			return c, err
		}
		if p.title == endTitle && !r.head.Encrypted {
			c.End = &End{}
			if err := json.Unmarshal(p.data, c.End); err != nil {
				return c, fmt.Errorf("read the end of the backup: %w", err)
			}
		}
	}
}

// ReadHead reads what a backup says of itself.
func ReadHead(from io.Reader) (Head, error) {
	r, err := readHead(from)
	if err != nil {
		return Head{}, err
	}
	return r.head, nil
}
