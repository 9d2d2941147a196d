// Package exchange reads and writes journals as spreadsheets and backups.
package exchange

import (
	"fmt"
	"slices"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
)

// DateOrder says how dates such as 04/06/2025 are meant.
type DateOrder string

// The orders of dates. DatesAuto takes the order that the header or the dates
// themselves give away; it never guesses.
const (
	DatesAuto  DateOrder = ""
	DayFirst   DateOrder = "day-first"
	MonthFirst DateOrder = "month-first"
	YearFirst  DateOrder = "year-first"
)

// ParseDateOrder reads auto, day-first, month-first or year-first.
func ParseDateOrder(s string) (DateOrder, error) {
	switch o := DateOrder(s); o {
	case DatesAuto, DayFirst, MonthFirst, YearFirst:
		return o, nil
	case "auto":
		return DatesAuto, nil
	}
	return "", fmt.Errorf("the order of dates %q is not known; write auto, day-first, month-first or year-first", s)
}

// Options says what a spreadsheet leaves open.
type Options struct {
	Dates    DateOrder
	Decimal  units.Decimal // of numbers such as 1,020; DecimalAuto: as the file's other numbers show
	Units    units.System  // for bare numbers whose header names no unit; "": such numbers are bad
	TimeZone string        // IANA name, for waters new to the journal; "": the outfit's
	Angler   string        // who fished, for a file without such a column
	Water    string        // where, for a file without such a column
	Blanks   []BlankRule   // what blanks of some columns of counts mean, for a file that means otherwise
	Accept   bool          // take what is likelier a slip as it stands
	Progress func(done, total int64)
	Now      func() time.Time // nil: time.Now
}

func (o Options) now() time.Time {
	if o.Now == nil {
		return time.Now()
	}
	return o.Now()
}

// Difference is a session that the journal holds with another content.
type Difference struct {
	Day    journal.Date
	Angler string
	Water  string
	Row    int // of the file, its first; 0 for a backup
}

func (d Difference) String() string {
	at := fmt.Sprintf("%s, %s on %s", d.Day, d.Angler, d.Water)
	if d.Row > 0 {
		at += fmt.Sprintf(" (row %d)", d.Row)
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
	NewAnglers   []string
	NewWaters    []string
	NewBeats     []string
	NewRigs      []string
	NewClaims    []string // of a backup
	NewPulls     int      // bench pulls of a backup
	NewTrials    []string // names of a backup's trials
	NewRules     []string // names of a backup's rule sets
}

// sort puts the names in order.
func (r *Result) sort() {
	for _, names := range [][]string{r.NewAnglers, r.NewWaters, r.NewBeats, r.NewRigs, r.NewClaims, r.NewTrials, r.NewRules} {
		slices.Sort(names)
	}
}
