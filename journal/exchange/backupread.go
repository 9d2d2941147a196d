package exchange

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"rigtally/journal"
)

// maxLine is the longest line of a backup: a session with thousands of events.
const maxLine = 32 << 20

// backup is what a backup file holds, and the line of each thing.
type backup struct {
	contents journal.Contents
	lines    map[journal.ID]int
	usual    int // its line
	records  int
	ended    bool
}

// parseBackup reads a backup without touching the journal. Its errors name the line.
func parseBackup(r io.Reader) (*backup, error) {
	b := &backup{lines: map[journal.ID]int{}}
	in := bufio.NewScanner(r)
	in.Buffer(make([]byte, 0, 64<<10), maxLine)
	line := 0
	for in.Scan() {
		line++
		text := bytes.TrimSpace(in.Bytes())
		if line == 1 {
			text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
		}
		if len(text) == 0 {
			continue
		}
		if err := b.take(line, text); err != nil {
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
	}
	switch err := in.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return nil, fmt.Errorf("line %d: is longer than a record can be; this is not a rigtally backup, or it was damaged", line+1)
	case err != nil:
		return nil, fmt.Errorf("read the backup: %w", err)
	case line == 0:
		return nil, errors.New("the file is empty")
	case !b.ended:
		return nil, fmt.Errorf("the backup ends after line %d without its last record, so it was cut off; copy it again or use another", line)
	}
	return b, nil
}

var errNoBackup = errors.New(`this is no backup of rigtally: its first line is not {"rigtally":"journal","version":…}`)

// take reads one line.
func (b *backup) take(line int, text []byte) error {
	if b.ended {
		return errors.New("comes after the end of the backup; two files may have been joined")
	}
	var r record
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	err := d.Decode(&r)
	if err == nil && len(bytes.TrimSpace(text[d.InputOffset():])) > 0 {
		err = errors.New("the line has more than one record")
	}
	if line == 1 {
		return checkHead(r, err, text)
	}
	if err != nil {
		return explainJSON(err, text)
	}
	return b.keep(line, r)
}

func checkHead(r record, err error, text []byte) error {
	var version struct {
		Rigtally string `json:"rigtally"`
		Version  int    `json:"version"`
	}
	if json.Unmarshal(text, &version) == nil && version.Rigtally == "journal" && version.Version > backupVersion {
		return fmt.Errorf("this backup was made by a newer rigtally (version %d, this program reads %d); use the newer program", version.Version, backupVersion)
	}
	if err != nil || r.Rigtally == nil || *r.Rigtally != "journal" || r.Version < 1 {
		return errNoBackup
	}
	return nil
}

// explainJSON says in words why a line is no record.
func explainJSON(err error, text []byte) error {
	var kind *json.UnmarshalTypeError
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("ends in the middle of a record, so the backup was cut off; copy it again or use another")
	case errors.As(err, &kind):
		return fmt.Errorf("%s can't be a %s; the backup was altered", cmp.Or(kind.Field, "the record"), kind.Value)
	case strings.HasPrefix(err.Error(), "json: unknown field"):
		return fmt.Errorf("holds %s, which this rigtally does not know; use the program that made the backup", strings.TrimPrefix(err.Error(), "json: unknown field "))
	}
	return fmt.Errorf("is no record of a backup (%s…): %w", strings.Join(strings.Fields(string(text[:min(len(text), 30)])), " "), err)
}

// keep files a record away, which must be one that can be. The rules of sessions need their rigs, and
// come when they are written.
func (b *backup) keep(line int, r record) error {
	c := &b.contents
	f := filing{}
	file(&f, r.Outfit, nil, func(o journal.Outfit) (journal.ID, error) { c.Outfit = o; return journal.ID{}, o.Validate() })
	file(&f, r.Angler, &c.Anglers, func(a journal.Angler) (journal.ID, error) { return a.ID, a.Validate() })
	file(&f, r.Water, &c.Waters, func(w journal.Water) (journal.ID, error) { return w.ID, w.Validate() })
	file(&f, r.Rig, &c.Rigs, func(r journal.Rig) (journal.ID, error) {
		return r.ID, cmp.Or(r.Validate(), counted("rig", "revision", r.Revision))
	})
	file(&f, r.Usual, nil, func(u journal.UsualRig) (id journal.ID, err error) {
		if c.Usual != nil || u.RigID.IsZero() || u.Since.IsZero() {
			err = errors.New("is not the one usual rig, with since when; the backup was altered")
		}
		c.Usual, b.usual = &u, line
		return id, err
	})
	file(&f, r.Claim, &c.Claims, func(c journal.Claim) (journal.ID, error) { return c.ID, c.Validate() })
	file(&f, r.Pull, &c.Pulls, func(p journal.BenchPull) (journal.ID, error) { return p.ID, p.Validate() })
	file(&f, r.Trial, &c.Trials, func(t journal.Trial) (journal.ID, error) { return t.ID, errors.Join(t.Validate(), t.CheckSeal()) })
	file(&f, r.RuleSet, &c.RuleSets, func(r journal.RuleSet) (journal.ID, error) { return r.ID, r.Validate() })
	file(&f, r.Session, &c.Sessions, func(s journal.Session) (journal.ID, error) { return s.ID, counted("session", "version", s.Version) })
	file(&f, r.Deleted, nil, func(d deletedRecord) (journal.ID, error) {
		c.Deleted = append(c.Deleted, journal.DeletedSession{Session: d.Session, DeletedAt: d.DeletedAt})
		return d.Session.ID, nil
	})
	file(&f, r.Alias, &c.Aliases, func(a journal.Alias) (journal.ID, error) { return a.ID, a.Validate() })
	file(&f, r.End, nil, func(e endRecord) (id journal.ID, err error) {
		if b.ended = true; e.Records != b.records {
			err = fmt.Errorf("says that %d records come before it, but there are %d; the backup was cut or altered", e.Records, b.records)
		}
		return id, err
	})
	switch {
	case f.kinds != 1 || r.Rigtally != nil || r.Version != 0:
		return errors.New("is not exactly one record; the backup was altered")
	case r.Outfit == nil && r.Usual == nil && r.End == nil && f.id.IsZero():
		return errors.New("has a record without an id; the backup was altered")
	case b.lines[f.id] > 0:
		return fmt.Errorf("has the id of line %d again; the backup was altered", b.lines[f.id])
	}
	if !f.id.IsZero() {
		b.lines[f.id] = line
	}
	b.records++
	return f.err
}

// filing is what was found of a record.
type filing struct {
	kinds int
	id    journal.ID
	err   error
}

// file puts what a record holds of one kind into a list, if there is one.
func file[T any](f *filing, v *T, list *[]T, check func(T) (journal.ID, error)) {
	if v == nil {
		return
	}
	f.kinds++
	f.id, f.err = check(*v)
	if list != nil {
		*list = append(*list, *v)
	}
}

func counted(what, number string, n int) error {
	if n < 1 {
		return fmt.Errorf("the %s has the %s %d; they count from 1", what, number, n)
	}
	return nil
}
