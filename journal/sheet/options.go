package sheet

import (
	"fmt"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal/words"
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
	Columns  []ColumnRule  // what some columns tell, for headers that say it otherwise or not at all
	Sheets   []string      // of a workbook, those that are read; none: all that are shown
	Ranges   RangeRule     // what a range such as 2-3 is taken for
	Names    []NameRule    // names of the sheet that mean others
	Words    *words.Table  // what words of headers and cells mean; nil: words.Built()
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

// ColumnRule says what a column tells, by its header. Its key is that of a field, its
// unit behind it as in tag_length_in where cells name none; "" leaves the column out.
type ColumnRule struct {
	Header string
	Key    string
}

// leaveOut is how a rule that leaves a column out is written.
const leaveOut = "ignore"

// ParseColumnRule reads a rule such as Member=angler, or Score=ignore.
func ParseColumnRule(s string) (ColumnRule, error) {
	at := strings.LastIndexByte(s, '=')
	if at <= 0 || strings.TrimSpace(s[at+1:]) == "" {
		return ColumnRule{}, fmt.Errorf("%q does not say what a column is; write its header and what it tells, as in \"Member=angler\", or \"Score=ignore\" to leave it out", s)
	}
	rule := ColumnRule{Header: strings.TrimSpace(s[:at]), Key: strings.TrimSpace(s[at+1:])}
	if strings.EqualFold(rule.Key, leaveOut) {
		rule.Key = ""
	}
	return rule, nil
}

// String writes the rule as ParseColumnRule reads it.
func (r ColumnRule) String() string {
	if r.Key == "" {
		return r.Header + "=" + leaveOut
	}
	return r.Header + "=" + r.Key
}

// RangeRule says what a cell such as 2-3 is taken for, where one number belongs.
type RangeRule string

// What can be done with ranges.
const (
	RangesRefused RangeRule = ""
	RangesMiddle  RangeRule = "middle" // of a count, the lower whole number where the middle is none
)

// ParseRangeRule reads refuse or middle.
func ParseRangeRule(s string) (RangeRule, error) {
	switch r := RangeRule(s); r {
	case RangesRefused, RangesMiddle:
		return r, nil
	case "refuse":
		return RangesRefused, nil
	}
	return "", fmt.Errorf("ranges can't be taken for %q; write refuse or middle", s)
}

// NameRule says whom or what a name of the sheet means. Means is Written itself where
// the name is new and meant so.
type NameRule struct {
	Kind    string // angler, water, beat, rig, junction; "": any
	Written string
	Means   string
}
