package sheet

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/exchange"
)

// settle decides what holds for the whole file.
func (s *Sheet) settle() error {
	if err := s.require(); err != nil {
		return err
	}
	s.fliesOrBulk()
	s.prepareColumns()
	if err := s.settleDates(); err != nil {
		return err
	}
	if err := s.settleReadings(); err != nil {
		return err
	}
	s.settleGrouping()
	s.sayRecorded()
	return nil
}

// prepareColumns gives the columns what their cells are read by.
func (s *Sheet) prepareColumns() {
	decimal, junctions := s.decimal(), exchange.JunctionWords(s.words)
	for _, c := range s.columns {
		c.words = s.words
		c.parser, c.system, c.junctions, c.unknownWords = units.Parser{Decimal: decimal}, s.options.Units, junctions, map[string]int{}
	}
}

func (s *Sheet) choose(format string, args ...any) {
	s.Choices = append(s.Choices, fmt.Sprintf(format, args...))
}

func (s *Sheet) warn(format string, args ...any) {
	s.Warnings = append(s.Warnings, fmt.Sprintf(format, args...))
}

// require wants to know of every row when, who and where.
func (s *Sheet) require() error {
	switch {
	case !s.has("date"):
		return errors.New("no column has the day; name it date")
	case !s.has("angler") && s.options.Angler == "":
		return errors.New("no column says who fished; add a column angler, or name the one angler of the file with --angler")
	case !s.has("water") && s.options.Water == "":
		return errors.New("no column says which water was fished; add a column water, or name the one water of the file with --water")
	case len(s.rows) == 0:
		return errors.New("the file has a header but no rows")
	}
	return nil
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
	if c == nil || s.has("bulk") {
		return
	}
	all := fields()
	bulk := all[slices.IndexFunc(all, func(f *field) bool { return f.Key == "bulk" })]
	n := 0
	var trial row
	tried := &column{field: bulk, words: s.words, cache: map[string]cachedCell{}}
	for cell := range s.cells(at) {
		if bulk.set(tried, &trial, cell) != nil {
			return
		}
		n++
	}
	if n > 0 {
		c.field, c.Understood, c.Field = bulk, bulk.Title, bulk.Key
		c.Note = "read as the bulk of the fly, since all its values are words for that"
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
		s.choose("Numbers have a decimal comma (%d show it).", comma)
	case point > 0:
		s.choose("Numbers have a decimal point (%d show it).", point)
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

func (s *Sheet) settleDates() error {
	at, c := s.find("date")
	order, why, err := decideDates(c.Header, s.cells(at), s.options.Dates)
	if err != nil {
		return err
	}
	c.dates = &dateReader{order: order, now: s.options.now(), words: s.words, odd: map[string]int{}}
	if why != "" {
		s.choose("Dates are read %s, %s.", order.words(), why)
	}
	return nil
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
	if s.has("stint") {
		s.choose("Rows of one stint number make a stint of their session.")
	} else {
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
	odd := make([]string, 0, len(dates.dates.odd))
	for what := range dates.dates.odd {
		odd = append(odd, what)
	}
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
