// Package exchange writes journals as flat CSV and as backups, and reads backups back.
package exchange

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"rigtally/journal"
	"rigtally/journal/sheet/grid"
)

// Difference is a session that the journal holds with another content.
type Difference struct {
	Day    journal.Date
	Angler string
	Water  string
	At     string // the first row of the file: "row 7", or "April, row 7" of a workbook; "" for a backup
}

func (d Difference) String() string {
	at := fmt.Sprintf("%s, %s on %s", d.Day, d.Angler, d.Water)
	if d.At != "" {
		at += fmt.Sprintf(" (%s)", d.At)
	}
	return at
}

// Result tells what an import did.
type Result struct {
	Rows         int          // data rows taken in, those already there included
	Rejected     int          // bad rows left out
	Accepted     int          // doubtful cells that were taken as they stand
	Added        int          // sessions new to the journal
	Stints       int          // stints new to the journal
	Extended     int          // sessions that gained stints from a corrected rejects file
	AlreadyThere int          // sessions that the journal held already
	Returned     int          // of those added: sessions that had been deleted from the journal
	Differ       []Difference // sessions left as they are in the journal
	Updated      int          // sessions that the sheet's took the place of
	Conflicts    []Difference // sessions left as they are, since the journal's were edited meanwhile
	Elsewhere    []Difference // sessions left as they are, since the journal's of that day are not from this sheet
	Beside       []Difference // of those added: sessions beside another of the same day, angler and water
	Gone         []Difference // sessions that came with an earlier state of the sheet and are no longer in it
	Kept         []string     // other things that a backup tells otherwise, left as they are in the journal
	Step         journal.ID   // by which it can be taken back; zero: it wrote nothing that can
	NewAnglers   []string
	NewWaters    []string
	NewBeats     []string
	NewRigs      []string
	NewClaims    []string // of a backup
	NewPulls     int      // bench pulls of a backup
	NewTrials    []string // names of a backup's trials
	NewRules     []string // names of a backup's rule sets
}

// Sort puts the names in order.
func (r *Result) Sort() {
	for _, names := range [][]string{r.NewAnglers, r.NewWaters, r.NewBeats, r.NewRigs, r.NewClaims, r.NewTrials, r.NewRules} {
		slices.Sort(names)
	}
}

// Sentences tells what an import did.
func (r Result) Sentences() []string {
	list := []string{fmt.Sprintf("Added %s with %s.", Counted(r.Added, "session"), Counted(r.Stints, "stint"))}
	say := func(n int, format string, args ...any) {
		if n > 0 {
			list = append(list, fmt.Sprintf(format, args...))
		}
	}
	say(r.Returned, "Of these, %s had been deleted and came back.", Counted(r.Returned, "session"))
	say(r.Updated, "%s updated.", Verb(r.Updated, "session", "was", "were"))
	say(r.Extended, "Corrected rows were added to %s.", Counted(r.Extended, "session"))
	say(r.AlreadyThere, "%s already there.", Verb(r.AlreadyThere, "session", "was", "were"))
	say(r.Accepted, "%s taken as asked for.", Verb(r.Accepted, "doubtful cell", "was", "were"))
	say(r.Rejected, "%s kept out.", Verb(r.Rejected, "bad row", "was", "were"))
	list = append(list, r.newNames()...)
	each := func(those []Difference, format, one, many string) {
		say(len(those), format, Verb(len(those), "session", one, many))
		for _, d := range those {
			list = append(list, "  "+d.String())
		}
	}
	each(r.Differ, "%s in the journal with other content and left as it is; edit it there, or delete it and import again:", "is", "are")
	each(r.Conflicts, "%s in the file as well as in the journal, and left as the journal has it; edit it there, or delete it there and import again to take the file's:", "was changed", "were changed")
	each(r.Elsewhere, "%s in the journal already from elsewhere with other content, and left as it is there; if these are further sessions of the day, say so by labels in a column named session:", "is", "are")
	each(r.Beside, "%s beside another of the same day, angler and water; if they are the same, delete one of the two:", "came", "came")
	each(r.Gone, "%s no longer in the file, and left in the journal:", "is", "are")
	if len(r.Kept) > 0 {
		list = append(list, "Left as the journal has them:")
		for _, kept := range r.Kept {
			list = append(list, "  "+kept)
		}
	}
	return list
}

// newNames tells by kind what is new beside sessions.
func (r Result) newNames() []string {
	var list []string
	for _, n := range []struct {
		what  string
		names []string
	}{{"angler", r.NewAnglers}, {"water", r.NewWaters}, {"beat", r.NewBeats}, {"rig", r.NewRigs}, {"claim", r.NewClaims}, {"trial", r.NewTrials}, {"rule set", r.NewRules}} {
		if len(n.names) == 0 {
			continue
		}
		const most = 8
		text := strings.Join(n.names[:min(most, len(n.names))], "; ")
		if len(n.names) > most {
			text += "; …"
		}
		list = append(list, fmt.Sprintf("%s new to the journal: %s.", Verb(len(n.names), n.what, "is", "are"), text))
	}
	if r.NewPulls > 0 {
		list = append(list, fmt.Sprintf("%s new to the journal.", Verb(r.NewPulls, "bench pull", "is", "are")))
	}
	return list
}

// Verb is Counted with what they do: "1 row was", "3 rows were".
func Verb(n int, what, one, many string) string {
	if n == 1 {
		return Counted(n, what) + " " + one
	}
	return Counted(n, what) + " " + many
}

// Counted is a number of things: "1 row", "3 rows".
func Counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Kind is a kind of file that can be imported.
type Kind string

// The kinds of file.
const (
	CSVFile    Kind = "csv"
	BackupFile Kind = "backup"
)

// Sniff tells a backup from a spreadsheet by its first bytes. What it returns
// reads the whole file.
func Sniff(r io.Reader) (Kind, io.Reader, error) {
	head := make([]byte, 512)
	n, err := io.ReadFull(r, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return "", nil, fmt.Errorf("read the file: %w", err)
	}
	head = head[:n]
	whole := io.MultiReader(bytes.NewReader(head), r)
	start := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")
	if bytes.HasPrefix(start, []byte("{")) && !grid.IsWorkbook(head) { // a shortcut to a workbook is JSON, too
		return BackupFile, whole, nil
	}
	return CSVFile, whole, nil
}
