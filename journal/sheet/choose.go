package sheet

import (
	"fmt"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/near"
	"rigtally/journal/sheet/shape"
	"rigtally/journal/words"
)

// reader understands headers, by rules before words.
type reader struct {
	glossary
	time   *field      // what may be one of day, or one fished; nil where it can't be asked
	events *near.Names // headers of what happens
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
	r.events = r.eventNames()
	if at := slices.IndexFunc(fields, func(f *field) bool { return f.Key == keyTime }); at >= 0 {
		r.time = fields[at]
	}
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
		switch {
		case m.field == nil && r.words.Clock(header):
			m.field = r.time
		case m.field != nil && m.field.Key == "date":
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
			return fmt.Errorf("no column is called %q; the columns are: %s", rule.Header, strings.Join(s.headers(), ", "))
		}
	}
	return nil
}

// Headers are those of the columns as written, in order: what a reading is known by.
func (s *Sheet) Headers() []string { return s.headers() }

func (s *Sheet) headers() []string {
	var list []string
	for _, t := range s.tables {
		for _, name := range t.header.Names {
			if !slices.Contains(list, name) {
				list = append(list, name)
			}
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
