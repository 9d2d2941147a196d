package exchange

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"strconv"
	"time"

	"rigtally/journal"
	"rigtally/journal/pg"
)

// backupVersion is that of the records below; a change that an older program
// would read wrongly counts it up; a kind of record that it lacks it refuses by name. Every older version is still read:
//
//	1: minutes are whole, and stints don't say of what count was kept
//	2: minutes may have decimals, and stints may say what was recorded
//	3: every line has its number and ends in the SHA-256 of all that stands before that in the file
const backupVersion = 3

// sumLength is how many hexadecimal digits of the sum a line has. The end has all 64.
const sumLength = 16

// record is one line of a backup: exactly one of its fields is set. The first
// line is the head, the last the end, which shows that nothing was cut off.
type record struct {
	Rigtally *string            `json:"rigtally,omitempty"` // what the file holds: "journal"
	Version  int                `json:"version,omitempty"`
	Outfit   *journal.Outfit    `json:"outfit,omitempty"`
	Angler   *journal.Angler    `json:"angler,omitempty"`
	Water    *journal.Water     `json:"water,omitempty"`
	Rig      *journal.Rig       `json:"rig,omitempty"`
	Usual    *journal.UsualRig  `json:"usual_rig,omitempty"` // no record without one, so that older programs read the backup
	Claim    *journal.Claim     `json:"claim,omitempty"`
	Pull     *journal.BenchPull `json:"bench_pull,omitempty"`
	Trial    *journal.Trial     `json:"trial,omitempty"`
	RuleSet  *journal.RuleSet   `json:"rule_set,omitempty"`
	Session  *journal.Session   `json:"session,omitempty"`
	Taken    *journal.Taken     `json:"gauge,omitempty"` // what a session took of gauges; no record without any
	Alias    *journal.Alias     `json:"alias,omitempty"`
	Deleted  *deletedRecord     `json:"deleted_session,omitempty"`
	End      *endRecord         `json:"end,omitempty"`
	N        int                `json:"n,omitempty"`   // of the line, from version 3 on
	Sum      string             `json:"sum,omitempty"` // of all before it, from version 3 on
}

type deletedRecord struct {
	DeletedAt time.Time       `json:"deleted_at"`
	Session   journal.Session `json:"session"`
}

type endRecord struct {
	Records int `json:"records"` // between the head and the end
}

// WriteBackup writes the whole journal as JSON lines, in an order that depends on
// nothing but its contents. ReadBackup makes the same journal of it, but for the
// order of running trials, of which only the part drawn so far is written.
func WriteBackup(ctx context.Context, store *pg.Store, w io.Writer) error {
	c, err := store.Contents(ctx)
	if err != nil {
		return err
	}
	return writeContents(c, newBackupWriter(w))
}

func writeContents(c journal.Contents, b *backupWriter) error {
	what := "journal"
	b.write(record{Rigtally: &what, Version: backupVersion})
	b.write(record{Outfit: &c.Outfit})
	writeAll(b, c.Anglers, func(a *journal.Angler) record { return record{Angler: a} })
	writeAll(b, c.Waters, func(w *journal.Water) record { return record{Water: w} })
	writeAll(b, c.Rigs, func(r *journal.Rig) record { return record{Rig: r} })
	if c.Usual != nil {
		b.write(record{Usual: c.Usual})
	}
	writeAll(b, c.Claims, func(c *journal.Claim) record { return record{Claim: c} })
	writeAll(b, c.Pulls, func(p *journal.BenchPull) record { return record{Pull: p} })
	writeAll(b, c.Trials, func(t *journal.Trial) record {
		t.OrderCut = t.Seed == "" // a running trial's is sealed: who has the backup could read the order
		return record{Trial: t}
	})
	writeAll(b, c.RuleSets, func(r *journal.RuleSet) record { return record{RuleSet: r} })
	writeAll(b, c.Sessions, func(s *journal.Session) record { return record{Session: s} })
	writeAll(b, c.Taken, func(t *journal.Taken) record { return record{Taken: t} })
	writeAll(b, c.Deleted, func(d *journal.DeletedSession) record { return record{Deleted: &deletedRecord{d.DeletedAt, d.Session}} })
	writeAll(b, c.Aliases, func(a *journal.Alias) record { return record{Alias: a} })
	b.write(record{End: &endRecord{b.lines - 1}})
	if b.err == nil {
		b.err = b.out.Flush()
	}
	if b.err != nil {
		return fmt.Errorf("write the backup: %w", b.err)
	}
	return nil
}

type backupWriter struct {
	out    *bufio.Writer
	record bytes.Buffer
	json   *json.Encoder
	sum    hash.Hash // of what was written
	lines  int
	err    error
}

func newBackupWriter(w io.Writer) *backupWriter {
	b := &backupWriter{out: bufio.NewWriter(w), sum: sha256.New()}
	b.json = json.NewEncoder(&b.record)
	b.json.SetEscapeHTML(false)
	return b
}

func (b *backupWriter) write(r record) {
	if b.err != nil {
		return
	}
	b.lines++
	b.record.Reset()
	if b.err = b.json.Encode(r); b.err != nil {
		return
	}
	b.record.Truncate(b.record.Len() - len("}\n"))
	b.record.Write(beforeSum(b.lines))
	summed := b.record.Len()
	b.sum.Write(b.record.Bytes())
	b.record.Write(sumOf(b.sum, r.End != nil))
	b.record.WriteString(afterSum)
	b.sum.Write(b.record.Bytes()[summed:])
	_, b.err = b.out.Write(b.record.Bytes())
}

// Every line ends in its number and the sum of all that stands before that in the file.
const afterSum = "\"}\n"

func beforeSum(line int) []byte {
	return append(strconv.AppendInt([]byte(`,"n":`), int64(line), 10), `,"sum":"`...)
}

// sumOf is what a line says of all before it; the last line says all of it.
func sumOf(h hash.Hash, last bool) []byte {
	digits := hex.AppendEncode(nil, h.Sum(nil))
	if !last {
		digits = digits[:sumLength]
	}
	return digits
}

func writeAll[T any](b *backupWriter, list []T, as func(*T) record) {
	for i := range list {
		b.write(as(&list[i]))
	}
}
