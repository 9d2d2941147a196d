package exchange

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"strings"

	"rigtally/journal"
)

// maxLine is the longest line of a backup: a session with thousands of events.
const maxLine = 32 << 20

// backup is what a backup file holds, and the line of each thing.
type backup struct {
	contents journal.Contents
	version  int
	lines    map[journal.ID]int
	usual    int // its line
	taken    map[journal.ID]bool
	records  int
	ended    bool
	sum      hash.Hash // of all that was read
	digest   string    // what the end says of all before it
}

// ReadContents reads a backup, which must be whole, without touching a journal. Its errors name the line.
func ReadContents(r io.Reader) (journal.Contents, error) {
	b, err := parseBackup(r)
	if err != nil {
		return journal.Contents{}, err
	}
	return b.contents, nil
}

// parseBackup reads a backup without touching the journal. Its errors name the line.
func parseBackup(r io.Reader) (*backup, error) {
	b := &backup{lines: map[journal.ID]int{}, taken: map[journal.ID]bool{}, sum: sha256.New()}
	in := bufio.NewScanner(r)
	in.Buffer(make([]byte, 0, 64<<10), maxLine)
	in.Split(withLineEnds)
	line := 0
	for in.Scan() {
		line++
		if err := b.take(line, in.Bytes()); err != nil {
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
	return b, b.references()
}

// withLineEnds splits a text into lines with what ends them.
func withLineEnds(data []byte, atEOF bool) (advance int, token []byte, err error) {
	if i := bytes.IndexByte(data, '\n'); i >= 0 {
		return i + 1, data[:i+1], nil
	}
	if atEOF && len(data) > 0 {
		return len(data), data, nil
	}
	return 0, nil, nil
}

// references checks that everything that the backup names is in it.
func (b *backup) references() error {
	c, there := b.contents, map[journal.ID]bool{}
	for _, a := range c.Anglers {
		there[a.ID] = true
	}
	for _, w := range c.Waters {
		there[w.ID] = true
		for _, b := range w.Beats {
			there[b.ID] = true
		}
	}
	for _, r := range c.Rigs {
		there[r.ID] = true
	}
	lacks := func(id *journal.ID) bool { return id != nil && !there[*id] }
	missing := func(line int, format string, args ...any) error {
		return fmt.Errorf("line %d: %s that the backup does not hold; the backup was altered", line, fmt.Sprintf(format, args...))
	}
	if c.Usual != nil && lacks(&c.Usual.RigID) {
		return missing(b.usual, "the usual rig is one")
	}
	for _, a := range c.Aliases {
		if lacks(a.Of) {
			return missing(b.lines[a.ID], "the alias %s is of something", a.Name)
		}
	}
	for _, t := range c.Trials {
		if lacks(t.Arms[0].RigID) || lacks(t.Arms[1].RigID) {
			return missing(b.lines[t.ID], "the trial %s names a rig", t.Name)
		}
	}
	for _, p := range c.Pulls {
		if lacks(p.AnglerID) {
			return missing(b.lines[p.ID], "the bench pull of %s names an angler", p.Day)
		}
	}
	sessions := map[journal.ID]bool{}
	for _, s := range c.Sessions {
		sessions[s.ID] = true
	}
	for _, t := range c.Taken {
		if !sessions[t.Session] {
			return fmt.Errorf("the backup says what the session %s took of a gauge, and does not hold it; the backup was altered", t.Session)
		}
	}
	for _, s := range c.Sessions {
		what := ""
		switch {
		case lacks(&s.AnglerID):
			what = "an angler"
		case lacks(&s.WaterID):
			what = "a water"
		case lacks(s.GuideID):
			what = "a guide"
		case lacks(s.BeatID):
			what = "a beat"
		}
		for _, st := range s.Stints {
			if lacks(&st.RigID) {
				what = "a rig"
			}
		}
		if what != "" {
			return missing(b.lines[s.ID], "the session of %s names %s", s.Day, what)
		}
	}
	return nil
}

var (
	errNoBackup = errors.New(`this is no backup of rigtally: its first line is not {"rigtally":"journal","version":…}`)
	errChanged  = errors.New("was changed since it was written; use another copy of the backup")
	errCut      = errors.New("ends in the middle of a record, so the backup was cut off; copy it again or use another")
	errAfterEnd = errors.New("comes after the end of the backup; two files may have been joined")
	errLineEnds = errors.New("its line end was changed, as mail and editors do on the way to another system; copy the file as it is, or take another copy")
)

// take reads one line, with what ends it.
func (b *backup) take(line int, raw []byte) error {
	if b.version >= 3 {
		if err := b.checkSum(line, raw); err != nil {
			return err
		}
	} else {
		b.sum.Write(raw)
	}
	text := bytes.TrimSpace(raw)
	if line == 1 {
		text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	}
	if len(text) == 0 {
		return nil
	}
	if b.ended {
		return errAfterEnd
	}
	var r record
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	err := d.Decode(&r)
	if err == nil && len(bytes.TrimSpace(text[d.InputOffset():])) > 0 {
		err = errors.New("the line has more than one record")
	}
	if line == 1 {
		if err := checkHead(r, err, text); err != nil {
			return err
		}
		if b.version = r.Version; b.version >= 3 {
			b.sum.Reset()
			return b.checkSum(line, raw)
		}
	} else if err != nil {
		return explainJSON(err, text)
	}
	if b.version < 3 && (r.N != 0 || r.Sum != "") {
		return errChanged
	}
	if line == 1 {
		return nil
	}
	return b.keep(line, r)
}

// checkSum holds a line against the one that was written there, byte for byte: by its number, and by the sum of all before it.
func (b *backup) checkSum(line int, raw []byte) error {
	at := bytes.LastIndex(raw, []byte(`,"n":`))
	switch {
	case b.ended:
		return errAfterEnd
	case !bytes.HasSuffix(raw, []byte("\n")):
		return errCut
	case bytes.HasSuffix(raw, []byte("\r\n")):
		return errLineEnds
	case at < 0:
		return errChanged
	}
	end := beforeSum(line)
	b.sum.Write(raw[:at])
	b.sum.Write(end)
	sum := append(sumOf(b.sum, bytes.HasPrefix(raw, []byte(`{"end":`))), afterSum...)
	b.sum.Write(sum)
	if bytes.Equal(raw[at:], append(end, sum...)) {
		return nil
	}
	var says struct{ N int }
	if json.Unmarshal(raw, &says) == nil && says.N != line && says.N > 0 {
		return fmt.Errorf("says that it is line %d: lines are missing, come twice or stand in another order; use another copy of the backup", says.N)
	}
	return errChanged
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
		return errCut
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
	file(&f, r.Taken, &c.Taken, func(t journal.Taken) (id journal.ID, err error) {
		if b.taken[t.Session] {
			err = errors.New("says once more what a session took of gauges; the backup was altered")
		}
		b.taken[t.Session] = true
		return id, cmp.Or(err, t.Validate())
	})
	file(&f, r.Deleted, nil, func(d deletedRecord) (journal.ID, error) {
		c.Deleted = append(c.Deleted, journal.DeletedSession{Session: d.Session, DeletedAt: d.DeletedAt})
		return d.Session.ID, nil
	})
	file(&f, r.Alias, &c.Aliases, func(a journal.Alias) (journal.ID, error) { return a.ID, a.Validate() })
	file(&f, r.End, nil, func(e endRecord) (id journal.ID, err error) {
		if b.ended, b.digest = true, r.Sum; e.Records != b.records {
			err = fmt.Errorf("says that %d records come before it, but there are %d; the backup was cut or altered", e.Records, b.records)
		}
		return id, err
	})
	switch {
	case f.kinds != 1 || r.Rigtally != nil || r.Version != 0:
		return errors.New("is not exactly one record; the backup was altered")
	case r.Outfit == nil && r.Usual == nil && r.Taken == nil && r.End == nil && f.id.IsZero():
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
