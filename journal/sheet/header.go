package sheet

import (
	"fmt"
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
	Chosen     bool     // by a person or a remembered reading, not by its header
	Sheets     []string // of a workbook that have it, where not all do
	Samples    []string // the first different values
	Note       string   // anything a person should know
	Reading    *Reading // of a column of counts: how its cells were taken
}

// Ignored reports whether the column was not understood.
func (c Column) Ignored() bool { return c.Understood == "" }

// column is a column while the file is read.
type column struct {
	Column
	field  *field     // nil: ignored
	unit   units.Unit // that the header names
	system units.System
	parser units.Parser
	dates  *dateReader
	cache  map[string]cachedCell

	words        *words.Table
	junctions    map[string]journal.Junction
	unknownWords map[string]int // junctions kept under their own name
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
	byName map[string]*field
	byUnit map[string][]*field // headers that count only with a unit
}

func glossaryOf(fields []*field, w *words.Table) glossary {
	g := glossary{byName: map[string]*field{}, byUnit: map[string][]*field{}}
	for _, f := range fields {
		key := headerKey(f.Key)
		for _, name := range append(w.Headings(f.Key), key, strings.ReplaceAll(key, " ", "")) {
			g.byName[headerKey(name)] = f
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
	words := strings.Fields(key)
	for n := 1; n <= min(4, len(words)); n++ {
		at := len(words) - n
		if f, u := g.measured(strings.Join(words[:at], " "), strings.Join(words[at:], " ")); f != nil {
			return f, u
		}
	}
	if f := g.byName[key]; f != nil {
		return f, unitWord(f, words)
	}
	if len(words) > 1 && headerOrder(header) != "" { // Date DD/MM/YYYY
		if f := g.byName[words[0]]; f != nil && f.Key == "date" {
			return f, ""
		}
	}
	if f := g.byName[headerKey(strings.ReplaceAll(name, "/", " "))]; f != nil {
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
	if f := g.byName[name]; f != nil {
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
	}
	return ""
}

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

// findHeader chooses the separator and the header row: the first of the first
// rows in which a column of the given key and the most columns are understood. declared is the
// separator that the file names, if it does.
func findHeader(text string, declared byte, g glossary, key string) (separator byte, at int, err error) {
	best := 0
	candidates := separators
	if declared != 0 {
		candidates = string(declared)
	}
	for i := range len(candidates) {
		for n, cells := range head(text, candidates[i]) {
			understood, dated := 0, false
			for _, cell := range cells {
				if f, _ := g.understand(cell); f != nil {
					understood++
					dated = dated || f.Key == key
				}
			}
			if dated && understood > best {
				best, separator, at = understood, candidates[i], n
			}
		}
	}
	if best == 0 {
		return 0, 0, errNoHeader(key)
	}
	return separator, at, nil
}

func errNoHeader(key string) error { return fmt.Errorf("no header row with a %s was found", key) }

// understandColumns reads the header. Two columns of the same meaning are an error.
func understandColumns(header []string, g glossary) ([]*column, error) {
	columns := make([]*column, len(header))
	taken := map[*field]string{}
	for i, h := range header {
		h = strings.TrimSpace(h)
		f, u := g.understand(h)
		c := &column{Column: Column{Header: h}, field: f, unit: u, cache: map[string]cachedCell{}}
		columns[i] = c
		if f == nil {
			c.Note = "not understood; ignored"
			if headerKey(h) == "time" {
				c.Note = "could be the start or the time fished, so ignored; name it start or minutes"
			}
			continue
		}
		if other, twice := taken[f]; twice {
			return nil, fmt.Errorf("columns %q and %q both give %s; rename or remove one", other, h, f.Title)
		}
		taken[f] = h
		c.Understood, c.Field = f.Title, f.Key
	}
	return columns, nil
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
