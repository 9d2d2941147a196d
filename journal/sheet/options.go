package sheet

import (
	"fmt"
	"time"

	"rigtally/internal/units"
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
