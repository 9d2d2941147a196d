package exchange

import (
	"cmp"
	"encoding/hex"
	"io"
	"strings"

	"rigtally/journal"
)

// Summary is what a backup that was read whole and found sound holds.
type Summary struct {
	Version int    // of the format
	Records int    // between the head and the end
	Kinds   []Kept // how many there are of each kind, those that there are
	Digest  string // SHA-256 in hex of all that stands before the end's own; of a version that has none, of the file
	Outfit  journal.Outfit
}

// Kept is how many things of a kind a backup holds.
type Kept struct {
	Kind string // as a word: "angler", "session", "stint", "deleted session"
	N    int
}

// Proves reports whether the backup's format shows any change of it: from version 3 on.
func (s Summary) Proves() bool { return s.Version >= 3 }

// Sentence says what the backup holds: "2 anglers, 1 water, 40 sessions".
func (s Summary) Sentence() string {
	var list []string
	for _, k := range s.Kinds {
		list = append(list, Counted(k.N, k.Kind))
	}
	return strings.Join(list, ", ")
}

// CheckBackup reads a backup to its end, without a database: that nothing of it was changed, that each record keeps to the
// rules, and that all that it names is in it. Its errors name the line.
func CheckBackup(r io.Reader) (Summary, error) {
	b, err := parseBackup(r)
	if err != nil {
		return Summary{}, err
	}
	return b.summary(), nil
}

func (b *backup) summary() Summary {
	c := b.contents
	s := Summary{Version: b.version, Records: b.records, Digest: cmp.Or(b.digest, hex.EncodeToString(b.sum.Sum(nil))), Outfit: c.Outfit}
	kept := func(kind string, n int) {
		if n > 0 {
			s.Kinds = append(s.Kinds, Kept{kind, n})
		}
	}
	beats, stints := 0, 0
	for _, w := range c.Waters {
		beats += len(w.Beats)
	}
	for _, session := range c.Sessions {
		stints += len(session.Stints)
	}
	kept("angler", len(c.Anglers))
	kept("water", len(c.Waters))
	kept("beat", beats)
	kept("rig", len(c.Rigs))
	kept("claim", len(c.Claims))
	kept("bench pull", len(c.Pulls))
	kept("trial", len(c.Trials))
	kept("rule set", len(c.RuleSets))
	kept("session", len(c.Sessions))
	kept("stint", stints)
	kept("deleted session", len(c.Deleted))
	kept("other name", len(c.Aliases))
	return s
}
