package sheet

import (
	"fmt"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	"rigtally/journal/near"
	"rigtally/journal/sheet/shape"
	"rigtally/journal/words"
)

// field is something that a column can tell, and how that is read.
type field struct {
	*exchange.Column
	set func(c *column, r *row, cell string) error
}

// fields lists everything that a column can tell.
func fields() []*field {
	const title = maxName + len(" (revision 999999)")
	all := readable(exchange.Columns(), map[string]func(*column, *row, string) error{
		"date":              setDate,
		"session":           setText(maxName, strings.TrimSpace, func(r *row) *string { return &r.Session }),
		"angler":            setText(maxName, cleanName, func(r *row) *string { return &r.Angler }),
		"water":             setText(maxName, cleanName, func(r *row) *string { return &r.Water }),
		"guide":             setText(maxName, cleanName, func(r *row) *string { return &r.Guide }),
		"beat":              setText(maxName, cleanName, func(r *row) *string { return &r.Beat }),
		"rig":               setText(title, strings.TrimSpace, func(r *row) *string { return &r.Rig }),
		"time_zone":         reading(func(r *row) *string { return &r.Zone }, readZone),
		"start":             reading(func(r *row) **int { return &r.Start }, readClock),
		"end":               reading(func(r *row) **int { return &r.End }, readClock),
		"stint":             reading(func(r *row) **int { return &r.Stint }, func(c *column, cell string) (*int, error) { return c.whole(cell, 1, 30000) }),
		"position":          reading(func(r *row) *exchange.Place { return &r.Place }, readPosition),
		"junction":          setJunction,
		"minutes_lost":      reading(func(r *row) **int { return &r.Tally[journal.CountMinutesLost] }, readMinutesLost),
		"uncounted":         setUncounted,
		exchange.CountsKept: setCountsKept,
	})
	all = append(all, pendingFields()...)
	return append(all, problemField(), &field{&exchange.Column{Key: "break_minutes", Title: "the breaks, taken off the time from start to end", Quantity: units.Duration}, reading(func(r *row) **float64 { return &r.breaks }, readBreaks)})
}

// readable pairs columns with how each is read, where that is not as the catalogue has it.
func readable(columns []*exchange.Column, readers map[string]func(*column, *row, string) error) []*field {
	all := make([]*field, len(columns))
	for i, c := range columns {
		f := &field{c, readers[c.Key]}
		switch {
		case f.set != nil:
		case c.Noted != nil:
			f.set = setNoted(*c.Noted)
		case c.Of != nil:
			f.set = setCount(*c.Of)
		default:
			f.set = ignore // it follows from the rest, or is a gauge's
		}
		all[i] = f
	}
	return all
}

// problemField is the column of a file of rows that an earlier import refused.
func problemField() *field {
	return &field{&exchange.Column{Key: "problem", Title: "what was wrong with it at an earlier import"}, ignore}
}

func ignore(*column, *row, string) error { return nil }

// FieldChoice is something that a column can be chosen as.
type FieldChoice struct {
	Key   string   // of a ColumnRule
	Title string   // in words: "the tag length as tied"
	Group string   // under which it is shown
	Units []string // that may stand behind the key, as in tag_length_in: what bare numbers are in
}

// Fields lists what a column can be chosen as.
func Fields() []FieldChoice {
	var list []FieldChoice
	for _, f := range fields() {
		if f.pending() || f.Gauge {
			continue
		}
		choice := FieldChoice{Key: f.Key, Title: f.Title, Group: f.group()}
		for _, u := range units.Of(f.Quantity) {
			choice.Units = append(choice.Units, string(u))
		}
		list = append(list, choice)
		for _, v := range variants {
			if v.of == f.Key {
				list = append(list, FieldChoice{Key: v.key, Title: f.Title + ", " + v.title, Group: choice.Group})
			}
		}
	}
	return list
}

// group is the heading under which a field is offered.
func (f *field) group() string {
	switch {
	case f.Of != nil:
		return "What happened"
	case slices.Contains([]string{"minutes", "start", "end", "casts", "stint", "break_minutes"}, f.Key):
		return "Time"
	case f.Noted == nil && f.Key != "rig" && f.Key != "position":
		return "Who, where and when"
	}
	return "Rig and conditions"
}

// variants are keys that say more than which field a column is.
var variants = []struct {
	key, of, title string
	also           meaning
}{
	{keyHours, "minutes", "in hours: 1.5 is 1 h 30 min", meaning{unit: units.Hour}},
	{keyHourPoint, "minutes", "in hours and minutes: 1.30 is 1 h 30 min", meaning{unit: units.Hour, hourPoint: true}},
	{keyDayFirst, "date", "day first: 4/6 is 4 June", meaning{order: DayFirst}},
	{keyMonthFirst, "date", "month first: 4/6 is April 6", meaning{order: MonthFirst}},
}

// reader understands headers, by rules before words.
type reader struct {
	glossary
	events *near.Names // headers of what happens; nil until they are asked for
	fields []*field
	rules  []*columnRule
	known  map[string]meaning // by header
}

type columnRule struct {
	ColumnRule
	meaning meaning
	used    bool
}

func newReader(fields []*field, w *words.Table, rules []ColumnRule) (*reader, error) {
	r := &reader{glossary: glossaryOf(fields, w), fields: fields, known: map[string]meaning{}}
	for _, rule := range rules {
		m, err := r.chosen(rule)
		if err != nil {
			return nil, err
		}
		r.rules = append(r.rules, &columnRule{ColumnRule: rule, meaning: m})
	}
	return r, nil
}

// chosen is what a rule says of a column.
func (r *reader) chosen(rule ColumnRule) (meaning, error) {
	if rule.Key == "" {
		return meaning{left: true, chosen: true}, nil
	}
	key := strings.ToLower(rule.Key)
	m := meaning{chosen: true}
	for _, v := range variants {
		if v.key == key {
			m, key = v.also, v.of
			m.chosen = true
		}
	}
	for _, f := range r.fields {
		if f.pending() {
			continue
		}
		if f.Key == key {
			if m.field = f; m.unit == "" {
				_, m.unit = r.understand(f.Key) // minutes
			}
			if m.unit == "" {
				m.unit = headerUnit(rule.Header, f)
			}
			return m, nil
		}
		if suffix, ok := strings.CutPrefix(key, f.Key+"_"); ok {
			if u, ok := units.ParseUnit(f.Quantity, suffix); ok {
				m.field, m.unit = f, u
				return m, nil
			}
		}
	}
	var keys []string
	for _, f := range Fields() {
		keys = append(keys, f.Key)
	}
	meant := ""
	if key, ok := near.Name(key, keys); ok {
		meant = fmt.Sprintf("; did you mean %s?", key)
	}
	return meaning{}, fmt.Errorf("a column can't be chosen as %q%s It can be one of: %s, or %s to leave it out", rule.Key, meant, strings.Join(keys, ", "), leaveOut)
}

// headerUnit is the unit that a header of another meaning names for a field.
func headerUnit(header string, f *field) units.Unit {
	name, inside := parentheses(header)
	candidates := []string{inside}
	if words := strings.Fields(headerKey(name)); len(words) > 1 {
		candidates = append(candidates, words[len(words)-1])
	}
	for _, text := range candidates {
		if u, ok := units.ParseUnit(f.Quantity, text); ok {
			return u
		}
	}
	return ""
}

// meaning is what a header says.
func (r *reader) meaning(header string) meaning {
	m, ok := r.known[header]
	if ok {
		return m
	}
	if at := slices.IndexFunc(r.rules, func(rule *columnRule) bool { return sameHeader(rule.Header, header) }); at >= 0 {
		r.rules[at].used = true
		m = r.rules[at].meaning
	} else {
		m.field, m.unit = r.understand(header)
		if m.field != nil && m.field.Key == "date" {
			m.order = headerOrder(header)
		}
	}
	r.known[header] = m
	return m
}

func sameHeader(a, b string) bool {
	key := headerKey(a)
	return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) || key != "" && key == headerKey(b)
}

// keyOf is what package shape asks of a header.
func (r *reader) keyOf(header string) string {
	switch m := r.meaning(header); {
	case m.left:
		return shape.LeftOut
	case m.field == nil:
		return ""
	default:
		return m.field.Key
	}
}

// relabel lets rules for one of several rigs side by side be for what they share:
// "Rig 1 fish" is fish. It reports whether there are such.
func (r *reader) relabel(f *shape.Fold) bool {
	changed := false
	for _, rule := range r.rules {
		for i, name := range f.Names {
			for part := range f.Parts {
				if written := f.Written(i, part); written != name && sameHeader(rule.Header, written) {
					rule.Header, changed = name, true
				}
			}
		}
	}
	if changed {
		r.known = map[string]meaning{}
	}
	return changed
}

// checkRules refuses rules for columns that the file does not have.
func (s *Sheet) checkRules() error {
	for _, rule := range s.reader.rules {
		if !rule.used {
			return fmt.Errorf("no column is called %q; the columns are: %s", rule.Header, strings.Join(s.Headers(), ", "))
		}
	}
	return nil
}

// Headers are those of the columns as written, in order: what a reading is known by.
func (s *Sheet) Headers() []string {
	var list []string
	for _, t := range s.tables {
		list = withNames(list, t.header.Names)
	}
	return list
}

// withNames is a list with the names of a table that it does not hold yet, each as often
// as the table has it.
func withNames(list, names []string) []string {
	held := map[string]int{}
	for _, name := range list {
		held[name]++
	}
	for _, name := range names {
		if held[name]--; held[name] < 0 {
			list = append(list, name)
		}
	}
	return list
}

// settleDoubles asks where two columns of a part tell the same. One that was chosen is
// meant, and the other is left out.
func (s *Sheet) settleDoubles() error {
	for i, c := range s.columns {
		for j, other := range s.columns[:i] {
			if c.field == nil || other.field != c.field || !s.together(i, j) {
				continue
			}
			switch {
			case c.Chosen && other.Chosen:
				return fmt.Errorf("columns %q and %q were both chosen as %s; choose one, and leave the other out", other.Header, c.Header, c.field.Title)
			case c.Chosen:
				other.left = true
				other.drop(fmt.Sprintf("left out, since %q was chosen for %s", c.Header, c.field.Title))
			case other.Chosen:
				c.left = true
				c.drop(fmt.Sprintf("left out, since %q was chosen for %s", other.Header, other.field.Title))
			default:
				s.stop(c, fmt.Sprintf("and “%s” both tell %s; choose this one, or leave it out", shown(other.Header), c.field.Title), c.field.Key)
			}
		}
	}
	return nil
}

// together reports whether a part has both columns.
func (s *Sheet) together(i, j int) bool {
	for _, t := range s.tables {
		if slices.ContainsFunc(t.parts, func(p *part) bool { return p.has(i) && p.has(j) }) {
			return true
		}
	}
	return false
}
