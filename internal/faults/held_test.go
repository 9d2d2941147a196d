//go:build linux

package faults_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"

	"rigtally/journal"
)

type session = journal.Session

// readBackup reads what a backup holds by itself, line by line, so that it checks what wrote it. One that was cut off
// is an error.
func readBackup(name string) (look, error) {
	text, err := os.ReadFile(name)
	if err != nil {
		return look{}, err
	}
	got := look{sessions: map[string]session{}, kinds: map[string]int{}}
	lines := bufio.NewScanner(bytes.NewReader(text))
	lines.Buffer(nil, 1<<24)
	last := ""
	for lines.Scan() {
		var record map[string]json.RawMessage
		if err := json.Unmarshal(lines.Bytes(), &record); err != nil {
			return look{}, fmt.Errorf("line %q: %w", lines.Text(), err)
		}
		delete(record, "n") // of the line, and its sum
		delete(record, "sum")
		for kind, held := range record {
			got.kinds[kind]++
			last = kind
			if kind != "session" {
				continue
			}
			var s session
			if err := json.Unmarshal(held, &s); err != nil {
				return look{}, fmt.Errorf("session %s: %w", held, err)
			}
			if _, twice := got.sessions[s.ID.String()]; twice {
				return look{}, fmt.Errorf("session %s is there twice", s.ID)
			}
			got.sessions[s.ID.String()] = s
		}
	}
	if last != "end" {
		return look{}, errors.Join(lines.Err(), fmt.Errorf("it ends with %q", last))
	}
	return got, nil
}

// noted counts the sessions with a note, each of which is one that was sent.
func (l look) noted(notes string) (n int) {
	for _, s := range l.sessions {
		if s.Notes == notes {
			n++
		}
	}
	return n
}

// same fails when a session differs from what was sent or acknowledged: in anything that it says.
func (r *round) same(what string, got, want session) {
	r.Helper()
	if !got.SaysWhat(want) || got.Version != want.Version {
		r.Errorf("%s is\n%+v\nwant\n%+v", what, got, want)
	}
}
