package sheet

import (
	"errors"
	"fmt"
	"iter"
	"maps"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet/shape"
)

// settle decides what holds for the whole file.
func (s *Sheet) settle() error {
	if len(s.rows) == 0 {
		return errors.New("the file has a header but no rows")
	}
	s.require()
	s.recognize()
	s.fliesOrBulk()
	s.prepareColumns()
	s.settlePending()
	s.settleDates()
	s.settleTimes()
	if err := s.settleReadings(); err != nil {
		return err
	}
	s.askAbout()
	s.askAboutKnots()
	s.settleGrouping()
	s.sayRecorded()
	return nil
}

// prepareColumns gives the columns what their cells are read by.
func (s *Sheet) prepareColumns() {
	decimal, junctions := s.decimal(), exchange.JunctionWords(s.words)
	for _, c := range s.columns {
		c.parser, c.system, c.junctions, c.unknownWords = units.Parser{Decimal: decimal}, s.options.Units, junctions, map[string]int{}
		c.words, c.ranges = s.words, s.options.Ranges
	}
}

func (s *Sheet) choose(format string, args ...any) {
	s.Choices = append(s.Choices, fmt.Sprintf(format, args...))
}

func (s *Sheet) warn(format string, args ...any) {
	s.Warnings = append(s.Warnings, fmt.Sprintf(format, args...))
}

// require wants to know of every row when, who and where.
func (s *Sheet) require() {
	if !s.has("date") {
		why := "no column has the day; name it date, or say which it is with --column \"HEADER=date\""
		if header := s.headerOverDays(); header != "" {
			why = fmt.Sprintf("no column has the day, but “%s” seems to hold days; if so, name it date, or say --column %q", shown(header), ColumnRule{header, "date"}.String())
		}
		s.miss(why, "date")
	}
	if !s.has("angler") && s.options.Angler == "" {
		s.miss("no column says who fished; add a column angler, say which it is with --column \"HEADER=angler\", or name the one angler of the file with --angler", "angler")
	}
	if !s.has("water") && s.options.Water == "" {
		s.miss("no column says which water was fished; add a column water, say which it is with --column \"HEADER=water\", or name the one water of the file with --water", "water")
	}
}

// headerOverDays finds a column all of whose cells are days: "Tag" is a day in German.
func (s *Sheet) headerOverDays() string {
	days := &dateReader{order: DayFirst, now: s.options.now(), odd: map[string]int{}, words: s.words}
	for i, c := range s.columns {
		filled, read := 0, 0
		for cell := range s.cells(i) {
			filled++
			if _, err := days.read(cell); err == nil {
				read++
			}
		}
		if filled > 0 && read == filled {
			return c.Header
		}
	}
	return ""
}

func separatorWord(b byte) string {
	switch b {
	case ',':
		return "commas"
	case ';':
		return "semicolons"
	case '\t':
		return "tabs"
	}
	return "“" + string(b) + "”"
}

// fliesOrBulk takes a column of flies for their bulk when it says nothing else.
func (s *Sheet) fliesOrBulk() {
	at, c := s.find("fly")
	if c == nil || c.Chosen || s.has("bulk") {
		return
	}
	bulk := s.field("bulk")
	n := 0
	trial := row{Row: exchange.Row{Catalogue: exchange.Untold()}}
	tried := &column{meaning: meaning{field: bulk}, cache: map[string]cachedCell{}, words: s.words}
	for cell := range s.cells(at) {
		if bulk.set(tried, &trial, cell) != nil {
			return
		}
		n++
	}
	if n > 0 {
		c.take(bulk, "read as the bulk of the fly, since all its values are words for that")
	}
}

// decimal finds the decimal mark by what the file's numbers prove.
func (s *Sheet) decimal() units.Decimal {
	if s.options.Decimal != units.DecimalAuto {
		return s.options.Decimal
	}
	var comma, point int
	known := map[string]units.Decimal{} // the same values come again and again
	for i, c := range s.columns {
		if c.field == nil || c.field.Quantity == "" {
			continue
		}
		for cell := range s.cells(i) {
			if !strings.ContainsAny(cell, ".,") {
				continue
			}
			mark, ok := known[cell]
			if !ok {
				mark = units.DecimalOf(cell)
				known[cell] = mark
			}
			switch mark {
			case units.DecimalComma:
				comma++
			case units.DecimalPoint:
				point++
			}
		}
	}
	switch {
	case comma > point:
		s.choose("Numbers have a decimal comma (%s).", exchange.Verb(comma, "number", "shows it", "show it"))
	case point > 0:
		s.choose("Numbers have a decimal point (%s).", exchange.Verb(point, "number", "shows it", "show it"))
	case s.separator == ';':
		s.choose("Numbers have a decimal comma, as usual in files with semicolons.")
	default:
		s.choose("No number shows its decimal mark; a point is assumed, and a comma before three digits groups thousands.")
	}
	if comma > 0 && point > 0 {
		s.warn("Some numbers have a decimal comma (%d) and some a point (%d); each is read by itself where it can be.", comma, point)
	}
	if comma > point || point == 0 && s.separator == ';' {
		return units.DecimalComma
	}
	return units.DecimalPoint
}

// settleDates decides the order of day and month for each column of days; those whose
// header does not say it are judged together.
func (s *Sheet) settleDates() {
	odd := map[string]int{}
	var open []*column
	var cells []iter.Seq[string]
	for i, c := range s.columns {
		if c.field == nil || c.field.Key != "date" {
			continue
		}
		c.dates = &dateReader{order: c.order, now: s.options.now(), odd: odd, words: s.words}
		switch {
		case c.Chosen && c.order != "":
			s.choose("Dates are read %s, as chosen.", c.order.words())
		case s.options.Dates == DatesAuto && c.order != "":
			s.choose("Dates are read %s, as the header %q says.", c.order.words(), c.Header)
		default:
			open, cells = append(open, c), append(cells, s.cells(i))
		}
	}
	if len(open) == 0 {
		return
	}
	order, why, err := decideDates(chained(cells), s.options.Dates)
	if err != nil {
		s.stop(open[0], err.Error(), keyDayFirst, keyMonthFirst)
		s.lacking = true
		return
	}
	for _, c := range open {
		c.dates.order = order
	}
	if why != "" {
		s.choose("Dates are read %s, %s.", order.words(), why)
	}
}

func chained(list []iter.Seq[string]) iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, cells := range list {
			for cell := range cells {
				if !yield(cell) {
					return
				}
			}
		}
	}
}

func (s *Sheet) settleGrouping() {
	switch {
	case s.has("session"):
		s.choose("Rows of the same day, angler, water and session label make a session.")
	case s.has("start"):
		s.choose("Rows of the same day, angler, water and start make a session.")
	default:
		s.choose("Rows of the same day, angler and water make a session; a column named session would tell several apart.")
	}
	switch {
	case s.has("stint"):
		s.choose("Rows of one stint number make a stint of their session.")
	case !slices.ContainsFunc(s.rows, func(r *row) bool { return r.together > 0 }):
		s.choose("Every row is its own stint.")
	}
	if !s.has("position") {
		s.choose("No column says which fly: every row describes dropper 1, and its counts are placed on it.")
	}
	if !s.has("broke_off") && s.has("junction_breaks") {
		s.choose("Breaks at the junction go to fish without a noted ending first, then to snags.")
	}
	if s.has("foul_hookups") && !s.has("fair_lost") {
		s.choose("Foul-hooked fish count among those landed as far as possible, since the file does not say.")
	}
	if s.has("turns") && !s.has("checks") {
		s.choose("Turns are those of one check each, since no column counts checks.")
	}
}

// afterRows warns of what only the rows show.
func (s *Sheet) afterRows() {
	_, dates := s.find("date")
	odd := slices.Collect(maps.Keys(dates.dates.odd))
	slices.Sort(odd)
	if len(odd) > 5 {
		odd = append(odd[:5], "…")
	}
	if len(odd) > 0 {
		s.warn("Some dates are %s.", strings.Join(odd, "; "))
	}
	s.warnOfNames()
	if at, c := s.find("tag_length"); c != nil && c.unit == "" && s.options.Units == units.Metric {
		longest := 0.0
		for cell := range s.cells(at) {
			if n, err := c.parser.Number(cell); err == nil {
				longest = max(longest, n)
			}
		}
		if longest > 0 && longest < 60 {
			s.warn("The tags are read in mm, and none is over %g mm; if these are centimeters, name the unit in the header: %s (cm).", longest, c.Header)
		}
	}
}

// warnOfNames lists junctions that are kept under a name of their own.
func (s *Sheet) warnOfNames() {
	if _, c := s.find("junction"); c != nil && len(c.unknownWords) > 0 {
		var names []string
		for name := range c.unknownWords {
			names = append(names, "“"+shown(name)+"”")
		}
		slices.Sort(names)
		if len(names) > 10 {
			names = append(names[:10], "…")
		}
		s.warn("Junctions that rigtally does not know are kept as “other” with their own names: %s.", strings.Join(names, ", "))
	}
}

// checkTotals holds the sums that a spreadsheet carries against its rows, since
// a difference means that one of them is not what its writer thinks.
func (s *Sheet) checkTotals() {
	from := map[*table]int{}
	for _, t := range s.totals {
		for k, p := range t.table.parts {
			cells := t.row.Cells
			if fold := t.table.header.Fold; fold != nil {
				cells = fold.Cells(k, cells)
			}
			s.checkTotal(p, p.align(cells, len(s.columns)), from[t.table], t.row.Number)
		}
		from[t.table] = t.row.Number
	}
}

// total is a row of sums.
type total struct {
	table *table
	row   shape.Row
}

func (s *Sheet) checkTotal(p *part, cells []string, from, number int) {
	for i, c := range s.columns {
		if c.field == nil || !c.field.Counted || i >= len(cells) || !p.has(i) {
			continue
		}
		want, err := c.parser.Number(cells[i])
		if err != nil {
			continue
		}
		all, last := s.sum(p, i, 0, number), s.sum(p, i, from, number)
		if all.total == want || last.total == want {
			continue
		}
		note := ""
		if all.blank > 0 {
			note = fmt.Sprintf("; %s a dash or nothing there", exchange.Verb(all.blank, "row", "has", "have"))
		}
		s.warn("The total in %s says %g for %s, but the rows above it add up to %g%s. The rows are imported.", atRow(p.name, number), want, p.headers[i], all.total, note)
	}
}

type columnSum struct {
	total float64
	blank int
}

// sum adds up a column of a part between two rows.
func (s *Sheet) sum(p *part, column, after, before int) columnSum {
	var sum columnSum
	for _, r := range s.rows {
		if r.of != p || r.number <= after || r.number >= before {
			continue
		}
		if column >= len(r.cells) || units.IsBlank(r.cells[column]) {
			sum.blank++
			continue
		}
		if n, err := s.columns[column].parser.Number(r.cells[column]); err == nil {
			sum.total += n
		}
	}
	return sum
}

// totalWord returns the word that marks a row of sums: one in a column of names or
// words, in a row without a date. day is the place of that, width that of the header.
func (s *Sheet) totalWord(cells []string, day, width int) string {
	if day >= 0 && day < len(cells) && !units.IsBlank(cells[day]) && !s.isTotal(cells[day]) {
		return ""
	}
	for i, cell := range cells {
		if i < width && s.isTotal(cell) {
			return strings.TrimSpace(cell)
		}
	}
	return ""
}

func (s *Sheet) isTotal(cell string) bool {
	return cell != "" && len(cell) <= 40 && (s.words.Sums(cell) || s.words.Means(cell))
}
