package sheet

import (
	"cmp"
	"fmt"
	"iter"
	"regexp"
	"strconv"
	"strings"
	"time"

	"rigtally/journal"
	catalogue "rigtally/journal/field"
	"rigtally/journal/words"
)

// dateReader reads the days of one file, whose order of day and month is settled.
type dateReader struct {
	order DateOrder
	now   time.Time
	odd   map[string]int // kinds of date worth mentioning, with how many
	words *words.Table
}

var (
	numericDate = regexp.MustCompile(`^(\d{1,4})\s*([./-])\s*(\d{1,2})\s*([./-])\s*(\d{1,4})$`)
	compactDate = regexp.MustCompile(`^((?:19|20)\d\d)(\d\d)(\d\d)$`)
	serialDate  = regexp.MustCompile(`^[2-6]\d{4}(?:[.,]0+)?$`)
	clockAtEnd  = regexp.MustCompile(`^(.*\d)(?:[T ]\s*)(\d{1,2}:\d\d(?::\d\d)?(?:\.\d+)?(?: ?[aApP]\.?[mM]\.?)?)(?:Z|[+-]\d\d:?\d\d)?$`)
	severalDays = regexp.MustCompile(`(?i)(?:^|[^\d./-])\d{1,2}(?:st|nd|rd|th|\.)?\s*(?:[-–—/&+]|\b(?:to|and|bis|und|a|au|et|al|y|e|do|az|a[zž]|til|till|och|og|ja)\b)\s*\d{1,2}(?:[^\d./-]|\.?$|\. )`)
	dateWord    = regexp.MustCompile(`\d+|[\pL]+`)
)

// splitClock parts a day from a time of day after it.
func splitClock(s string) (day, clock string) {
	s = strings.TrimSpace(s)
	if m := clockAtEnd.FindStringSubmatch(s); m != nil {
		return strings.TrimSpace(m[1]), m[2]
	}
	return s, ""
}

// numbersOf returns the three numbers of a date in figures, and its separator.
func numbersOf(day string) (n [3]int, separator string, ok bool) {
	m := numericDate.FindStringSubmatch(day)
	if m == nil || m[2] != m[4] {
		return n, "", false
	}
	for i, j := range []int{1, 3, 5} {
		n[i], _ = strconv.Atoi(m[j])
	}
	return n, m[2], true
}

// decideDates settles the order of day and month for a file whose headers don't say it:
// what was asked for, or what the dates themselves prove. Its error continues a header.
func decideDates(cells iter.Seq[string], asked DateOrder) (order DateOrder, why string, err error) {
	if asked != DatesAuto {
		return asked, "as asked", nil
	}
	e := gatherDates(cells)
	switch {
	case e.dayFirst != "" && e.monthFirst != "":
		return "", "", fmt.Errorf("has days that contradict each other: %q has its day first, %q its month; correct one of them", e.dayFirst, e.monthFirst)
	case e.dayFirst != "":
		return DayFirst, fmt.Sprintf("since %q can't be read any other way", e.dayFirst), nil
	case e.monthFirst != "":
		return MonthFirst, fmt.Sprintf("since %q can't be read any other way", e.monthFirst), nil
	case e.open != "":
		n, _, _ := numbersOf(e.open)
		return "", "", fmt.Errorf("has days that can be read two ways: %q is %d %s or %d %s", e.open, n[0], time.Month(n[1]), n[1], time.Month(n[0]))
	}
	return DayFirst, "", nil
}

// Keys by which a column of days can be chosen, besides that of the field itself.
const (
	keyDayFirst   = "date.day-first"
	keyMonthFirst = "date.month-first"
)

// evidence holds an example each of dates that are day first, month first, and either.
type evidence struct{ dayFirst, monthFirst, open string }

func gatherDates(cells iter.Seq[string]) evidence {
	var e evidence
	seen := ""
	for cell := range cells {
		if cell == seen { // rows of a day mostly stand together
			continue
		}
		seen = cell
		day, _ := splitClock(cell)
		n, separator, ok := numbersOf(day)
		if !ok || separator == "." || n[0] > 31 {
			continue
		}
		dayFirst, monthFirst := n[1] >= 1 && n[1] <= 12 && n[0] >= 1, n[0] >= 1 && n[0] <= 12 && n[1] >= 1 && n[1] <= 31
		switch {
		case dayFirst && !monthFirst:
			e.dayFirst = cmp.Or(e.dayFirst, day)
		case monthFirst && !dayFirst:
			e.monthFirst = cmp.Or(e.monthFirst, day)
		case dayFirst && monthFirst && n[0] != n[1]:
			e.open = cmp.Or(e.open, day)
		}
	}
	return e
}

// The orders as headers give them, in English, German, French and their neighbours' letters.
var orderHints = []struct {
	letters *regexp.Regexp
	order   DateOrder
}{
	{regexp.MustCompile(`^m+[dtj]+[yja]+$`), MonthFirst},
	{regexp.MustCompile(`^[dtj]+m+[yja]+$`), DayFirst},
	{regexp.MustCompile(`^[yja]+m+[dtj]+$`), YearFirst},
}

// headerOrder reads hints such as (TT.MM.JJJJ), (MM/DD/YYYY) or (aaaa-mm-dd).
func headerOrder(header string) DateOrder {
	_, hint := parentheses(header)
	if hint == "" {
		_, hint, _ = strings.Cut(strings.TrimSpace(header), " ")
	}
	letters := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' {
			return r
		}
		return -1
	}, catalogue.Plain(hint))
	for _, h := range orderHints {
		if h.letters.MatchString(letters) {
			return h.order
		}
	}
	return ""
}

func setDate(c *column, r *row, cell string) error {
	type moment struct {
		day   journal.Date
		clock *int
	}
	m, err := cached(c, cell, func() (moment, error) {
		day, clock := splitClock(cell)
		d, err := c.dates.read(day)
		if err != nil {
			return moment{}, err
		}
		if clock == "" {
			return moment{day: d}, nil
		}
		at, ok := parseClock(clock)
		if !ok {
			return moment{}, &problem{what: "has a time of day that was not understood", remedy: "write the day alone, for example 2025-04-30"}
		}
		if at == 0 { // midnight is what programs add to a day
			return moment{day: d}, nil
		}
		return moment{d, &at}, nil
	})
	r.Day = m.day
	if r.Start == nil {
		r.Start = m.clock
	}
	return err
}

var errDate = &problem{what: "is not a day", remedy: "write it as 2025-04-30"}

// read understands a day.
func (d *dateReader) read(s string) (journal.Date, error) {
	if m := compactDate.FindStringSubmatch(s); m != nil {
		return d.day(atoi(m[1]), atoi(m[2]), atoi(m[3]))
	}
	if serialDate.MatchString(s) {
		d.odd["a spreadsheet's day number such as "+s]++
		// Day 1 is 1900-01-01 and the never-been 29 February 1900 is counted (ECMA-376, part 1, 18.17.4.1).
		return journal.DateOf(time.Date(1899, 12, 30+atoi(s[:5]), 0, 0, 0, 0, time.UTC)), nil
	}
	if n, separator, ok := numbersOf(s); ok {
		return d.numeric(s, n, separator)
	}
	return d.worded(s)
}

func (d *dateReader) numeric(s string, n [3]int, separator string) (journal.Date, error) {
	order := d.order
	long := strings.IndexAny(s, "./- ") > 2 // the first number has three or four figures
	switch {
	case long:
		order = YearFirst
	case separator == "." && order != MonthFirst:
		order = DayFirst
	}
	switch order {
	case YearFirst:
		return d.day(d.century(n[0]), n[1], n[2])
	case MonthFirst:
		return d.day(d.century(n[2]), n[0], n[1])
	}
	return d.day(d.century(n[2]), n[1], n[0])
}

// century completes a year of two figures: none lies more than a year ahead.
func (d *dateReader) century(year int) int {
	if year >= 100 {
		return year
	}
	full := d.now.Year()/100*100 + year
	if full > d.now.Year()+1 {
		full -= 100
	}
	return full
}

func (d *dateReader) day(year, month, day int) (journal.Date, error) {
	switch {
	case month < 1 || month > 12:
		return journal.Date{}, &problem{what: fmt.Sprintf("has no month %d (dates are read %s)", month, d.order.words()), remedy: "correct it, or write it as 2025-04-30"}
	case year < 1900 || year > 2200:
		return journal.Date{}, &problem{what: fmt.Sprintf("is in the year %d", year), remedy: "write the year with four digits, as in 2025-04-30"}
	}
	last := time.Date(year, time.Month(month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
	if day < 1 || day > last {
		return journal.Date{}, &problem{what: fmt.Sprintf("is not a day of the calendar: %s %d has %d days", time.Month(month), year, last), remedy: "correct the day"}
	}
	date := journal.Date{Year: year, Month: time.Month(month), Day: day}
	if date.In(time.UTC).After(d.now.AddDate(0, 0, 1)) {
		d.odd["a day still to come, such as "+date.String()]++
	}
	return date, nil
}

// words names an order in a sentence.
func (o DateOrder) words() string {
	switch o {
	case MonthFirst:
		return "month first"
	case YearFirst:
		return "year first"
	}
	return "day first"
}

func atoi(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// worded reads dates with the month in letters: 07-Apr-2025, April 7, 2025.
func (d *dateReader) worded(s string) (journal.Date, error) {
	var numbers []string
	month, weekday := 0, false
	for _, w := range dateWord.FindAllString(catalogue.Plain(s), 12) {
		switch {
		case w[0] >= '0' && w[0] <= '9':
			numbers = append(numbers, w)
		case d.words.Month(w) > 0 && (month == 0 || weekday):
			month, weekday = d.words.Month(w), d.words.InDate(w) // mar. 15 avr. 2025
		case !d.words.InDate(w):
			return journal.Date{}, errDate
		}
	}
	if month == 0 && len(numbers) == 3 {
		// A weekday before the figures: Sun 04/06/2025.
		if i := strings.IndexAny(s, "0123456789"); i > 0 {
			if n, separator, ok := numbersOf(s[i:]); ok {
				return d.numeric(s[i:], n, separator)
			}
		}
		return journal.Date{}, errDate
	}
	if month > 0 && severalDays.MatchString(s) {
		return journal.Date{}, &problem{what: "is more than one day", remedy: "write each in a row of its own, as 2025-04-30"}
	}
	if month > 0 && len(numbers) == 1 {
		return journal.Date{}, &problem{what: "has no year", remedy: "write the year too, as in 2025-04-30"}
	}
	if month == 0 || len(numbers) != 2 {
		return journal.Date{}, errDate
	}
	day, year := numbers[0], numbers[1]
	if len(day) == 4 {
		day, year = year, day
	}
	if len(day) > 2 || len(year) != 2 && len(year) != 4 {
		return journal.Date{}, errDate
	}
	return d.day(d.century(atoi(year)), month, atoi(day))
}
