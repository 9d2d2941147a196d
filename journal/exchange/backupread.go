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

// keep files a record away.
func (b *backup) keep(line int, r record) error {
	kinds := 0
	c := &b.contents
	var id journal.ID
	if r.Outfit != nil {
		kinds++
		c.Outfit = *r.Outfit
		if err := r.Outfit.Validate(); err != nil {
			return err
		}
	}
	if r.Angler != nil {
		kinds, id = kinds+1, r.Angler.ID
		c.Anglers = append(c.Anglers, *r.Angler)
	}
	if r.Water != nil {
		kinds, id = kinds+1, r.Water.ID
		c.Waters = append(c.Waters, *r.Water)
	}
	if r.Rig != nil {
		kinds, id = kinds+1, r.Rig.ID
		c.Rigs = append(c.Rigs, *r.Rig)
	}
	if r.Claim != nil {
		kinds, id = kinds+1, r.Claim.ID
		c.Claims = append(c.Claims, *r.Claim)
	}
	if r.Pull != nil {
		kinds, id = kinds+1, r.Pull.ID
		c.Pulls = append(c.Pulls, *r.Pull)
	}
	if r.Trial != nil {
		kinds, id = kinds+1, r.Trial.ID
		c.Trials = append(c.Trials, *r.Trial)
	}
	if r.RuleSet != nil {
		kinds, id = kinds+1, r.RuleSet.ID
		c.RuleSets = append(c.RuleSets, *r.RuleSet)
	}
	if r.Session != nil {
		kinds, id = kinds+1, r.Session.ID
		c.Sessions = append(c.Sessions, *r.Session)
	}
	if r.Deleted != nil {
		kinds, id = kinds+1, r.Deleted.Session.ID
		c.Deleted = append(c.Deleted, journal.DeletedSession{Session: r.Deleted.Session, DeletedAt: r.Deleted.DeletedAt})
	}
	if r.End != nil {
		kinds++
		b.ended = true
		if r.End.Records != b.records {
			return fmt.Errorf("says that %d records come before it, but there are %d; the backup was cut or altered", r.End.Records, b.records)
		}
	}
	switch {
	case kinds != 1 || r.Rigtally != nil || r.Version != 0:
		return errors.New("is not exactly one record; the backup was altered")
	case r.Outfit == nil && r.End == nil && id.IsZero():
		return errors.New("has a record without an id; the backup was altered")
	case b.lines[id] > 0:
		return fmt.Errorf("has the id of line %d again; the backup was altered", b.lines[id])
	}
	if !id.IsZero() {
		b.lines[id] = line
	}
	b.records++
	return nil
}
