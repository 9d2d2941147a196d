package sheet

import (
	"cmp"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/words"
)

// Column tells how a column of the file was understood.
type Column struct {
	Header     string   // as written
	Understood string   // what it was taken for, in words; "" when it was not understood and is ignored
	Field      string   // the same as a key, the header of that column on export without its unit
	Unit       string   // the unit of bare numbers, "" for none
	UnitFrom   string   // "header" or "default", when there is a unit
	Headers    []string // the same as written in each place, where it is written in several ways: "Rig 1 tangles", "Rig 2 tangles"
	Chosen     bool     // by a person or a remembered reading, not by its header
	Missing    []string // sheets of the workbook that don't have it
	Samples    []string // the first different values
	Note       string   // anything a person should know
	Reading    *Reading // of a column of counts: how its cells were taken
}

// Ignored reports whether the column was not understood.
func (c Column) Ignored() bool { return c.Understood == "" }

// written is the header as the file has it.
func (c Column) written() string {
	if len(c.Headers) == 0 {
		return c.Header
	}
	return strings.Join(c.Headers, ", ")
}

// column is a column while the file is read.
type column struct {
	Column
	meaning
	system units.System
	parser units.Parser
	dates  *dateReader
	cache  map[string]cachedCell

	stopped      bool // somebody must decide about it
	words        *words.Table
	junctions    map[string]journal.Junction
	unknownWords map[string]int // junctions kept under their own name

	ranges  RangeRule
	middles map[string]string // ranges taken as their middle

	fewMinutes bool // of numbers that may all be hours
	fewHours   bool // of minutes, as its large numbers tell
}

// meaning is what a header says of its column.
type meaning struct {
	field     *field     // nil: nothing that is understood
	unit      units.Unit // of bare numbers, where it names one
	order     DateOrder  // of its days, where it names one
	hourPoint bool       // 1.30 is 1 h 30 min
	chosen    bool       // by a rule
	left      bool       // out, by a rule
}

func newColumn(label string, m meaning) *column {
	c := &column{Column: Column{Header: label, Chosen: m.chosen}, meaning: m, cache: map[string]cachedCell{}}
	switch {
	case m.left:
		c.Note = "left out, as asked for"
	case m.field == nil:
		c.Note = "not understood; ignored"
	default:
		c.Understood, c.Field = m.field.Title, m.field.Key
	}
	return c
}

// drop takes a column for nothing, and says why.
func (c *column) drop(note string) {
	c.field, c.Understood, c.Field, c.Note = nil, "", "", note
}

// take takes a column for a field.
func (c *column) take(f *field, note string) {
	c.field, c.Understood, c.Field, c.Note = f, f.Title, f.Key, note
}

// shownHeader names a column in a message.
func (c *column) shownHeader() string {
	return cmp.Or(shown(c.written()), "the column without a header")
}

// bare returns the unit of numbers that name none; "": there is none.
func (c *column) bare() units.Unit {
	if c.unit != "" || c.system == "" {
		return c.unit
	}
	us := c.system == units.US
	switch c.field.Quantity {
	case units.Flow:
		return choose(us, units.CubicFootPerSecond, units.CubicMetrePerSecond)
	case units.Temperature:
		return choose(us, units.Fahrenheit, units.Celsius)
	case units.Force:
		return choose(us, units.PoundForce, "") // scales show kgf and N alike
	case units.Depth:
		return choose(us, units.Foot, units.Metre)
	case units.Speed:
		return choose(us, units.FootPerSecond, units.MetrePerSecond)
	case units.Length:
		if c.field.Noted.High <= 2000 {
			return choose(us, units.Inch, units.Millimetre)
		}
	}
	return "" // rods and leaders come in feet, inches and metres alike
}

func choose(us bool, ifUS, otherwise units.Unit) units.Unit {
	if us {
		return ifUS
	}
	return otherwise
}

// headerKey gives a header lower case, single blanks and no punctuation, but
// for what units are written with.
func headerKey(s string) string { return words.Header(s) }

// glossary finds fields by the ways to write their headers.
type glossary struct {
	words  *words.Table
	byName map[string]*field
	byUnit map[string][]*field // headers that count only with a unit
}

func glossaryOf(fields []*field, w *words.Table) glossary {
	g := glossary{words: w, byName: map[string]*field{}, byUnit: map[string][]*field{}}
	for _, f := range fields {
		key := headerKey(f.Key)
		for _, name := range append(w.Headings(f.Key), key) {
			g.byName[unspaced(headerKey(name))] = f
		}
		for _, name := range w.WithUnit(f.Key) {
			g.byUnit[name] = append(g.byUnit[name], f)
		}
	}
	return g
}

// understand finds what a header means, and the unit that it names.
func (g glossary) understand(header string) (*field, units.Unit) {
	name, inside := parentheses(header)
	key := headerKey(name)
	if f, u := g.measured(key, inside); f != nil {
		return f, u
	}
	if f := g.byName[unspaced(key)]; f != nil && f.pending() { // ora may be hours, and the hour of the day
		return f, ""
	}
	words := strings.Fields(key)
	for n := 1; n <= min(4, len(words)); n++ {
		at := len(words) - n
		if f, u := g.measured(strings.Join(words[:at], " "), strings.Join(words[at:], " ")); f != nil {
			return f, u
		}
	}
	if f := g.byName[unspaced(key)]; f != nil {
		return f, unitWord(f, words)
	}
	if len(words) > 1 && headerOrder(header) != "" { // Date DD/MM/YYYY
		if f := g.byName[words[0]]; f != nil && f.Key == "date" {
			return f, ""
		}
	}
	if f := g.byName[unspaced(headerKey(strings.ReplaceAll(name, "/", " ")))]; f != nil {
		return f, ""
	}
	if i := strings.IndexByte(name, '/'); i > 0 { // Tag/cm
		return g.measured(headerKey(name[:i]), headerKey(name[i+1:]))
	}
	return nil, ""
}

// measured finds a field by its name beside a unit of its quantity.
func (g glossary) measured(name, unit string) (*field, units.Unit) {
	if unit == "" {
		return nil, ""
	}
	candidates := g.byUnit[name]
	if f := g.byName[unspaced(name)]; f != nil {
		candidates = append([]*field{f}, candidates...)
	}
	for _, f := range candidates {
		if f.Quantity == "" {
			continue
		}
		if u, ok := units.ParseUnit(f.Quantity, unit); ok {
			return f, u
		}
	}
	return nil, ""
}

// unitWord finds a unit among the words of a header: "minutes lost".
func unitWord(f *field, words []string) units.Unit {
	if f.Quantity == "" {
		return ""
	}
	for _, w := range words {
		if u, ok := units.ParseUnit(f.Quantity, w); ok && len(w) > 2 {
			return u
		}
		for i := range w { // Angelstunden, fisketimmar
			if u, ok := units.ParseUnit(f.Quantity, w[i:]); ok && f.Quantity == units.Duration && len(w)-i > 3 {
				return u
			}
		}
	}
	return ""
}

// unspaced is a header's key without blanks: hook ups are hookups.
func unspaced(key string) string { return strings.ReplaceAll(key, " ", "") }

// parentheses splits "Tag (in)" into "Tag " and "in".
func parentheses(header string) (name, inside string) {
	open := strings.IndexAny(header, "([")
	if open < 0 {
		return header, ""
	}
	rest := header[open+1:]
	end := strings.IndexAny(rest, ")]")
	if end < 0 {
		return header, ""
	}
	return header[:open] + " " + rest[end+1:], strings.TrimSpace(rest[:end])
}

// Units returns the system of most units in the headers, "" without a winner.
func (s *Sheet) Units() units.System {
	us, metric := 0, 0
	for _, c := range s.Columns {
		if c.UnitFrom != "header" {
			continue
		}
		switch c.Unit {
		case units.Inch.Symbol(), units.Foot.Symbol(), units.CubicFootPerSecond.Symbol(), units.FootPerSecond.Symbol(), units.Fahrenheit.Symbol():
			us++
		case units.Millimetre.Symbol(), units.Centimetre.Symbol(), units.Metre.Symbol(), units.CubicMetrePerSecond.Symbol(), units.MetrePerSecond.Symbol(), units.Celsius.Symbol():
			metric++
		}
	}
	switch {
	case us > metric:
		return units.US
	case metric > us:
		return units.Metric
	}
	return ""
}
