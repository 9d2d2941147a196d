package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/journal/exchange"
	catalogue "rigtally/journal/field"
)

// Blank says what a blank cell of a column of counts means.
type Blank string

// What a blank can mean.
const (
	BlankZero    Blank = "zero"
	BlankUnknown Blank = "unknown" // no count was kept
)

// BlankRule says for a column, by its header, what its blanks mean.
type BlankRule struct {
	Header string
	Is     Blank
}

// ParseBlankRule reads a rule such as Tangles=unknown.
func ParseBlankRule(s string) (BlankRule, error) {
	at := strings.LastIndexByte(s, '=')
	if at <= 0 {
		return BlankRule{}, fmt.Errorf("%q names no column; write its header and what its blanks mean, as in \"Tangles=unknown\" or \"Tangles=zero\"", s)
	}
	rule := BlankRule{Header: strings.TrimSpace(s[:at]), Is: Blank(catalogue.Plain(strings.TrimSpace(s[at+1:])))}
	if rule.Is != BlankZero && rule.Is != BlankUnknown {
		return BlankRule{}, fmt.Errorf("a blank can't mean %q; write zero or unknown", s[at+1:])
	}
	return rule, nil
}

// Reading tells how the cells of a column of counts were taken.
type Reading struct {
	Counts   int // cells that hold a count, zeros included
	Zeros    int // of these, cells that write a zero, a dash or a word for none
	Unknown  int // cells that say that no count was kept
	Blanks   int
	BlankIs  Blank
	override bool // as somebody has said
	never    bool // a blank of this column is never zero
}

// cellKind is what a cell of a column of counts holds.
type cellKind int

const (
	blankCell   cellKind = iota
	zeroCell             // a dash or a word for none
	unknownCell          // says that no count was kept
	valueCell            // anything else
)

// kindOf tells what a cell of counts holds.
func (s *Sheet) kindOf(cell string) cellKind {
	text := strings.TrimSpace(cell)
	switch {
	case text == "":
		return blankCell
	case text[0] >= '0' && text[0] <= '9' || len(text) > 40:
		return valueCell
	case strings.Trim(text, "? ") == "":
		return unknownCell
	}
	word := catalogue.Compact(text)
	switch {
	case word == "" && units.IsBlank(text):
		if strings.ContainsFunc(text, func(r rune) bool { return unicode.IsGraphic(r) && !unicode.IsSpace(r) }) {
			return zeroCell
		}
		return blankCell
	case word == "":
		return valueCell
	case s.words.None(word):
		return zeroCell
	case s.words.Unknown(word):
		return unknownCell
	}
	return valueCell
}

// settleReadings decides what the blanks of each column of counts mean: where
// zeros are written, that no count was kept; where none ever is, none, as in a
// tally kept when something happens. Rows of totals have no say. In a file that
// rigtally wrote, and for minutes lost, checks and turns, a blank is never none.
func (s *Sheet) settleReadings() error {
	rules, err := s.blankRules()
	if err != nil {
		return err
	}
	for i, c := range s.columns {
		if c.field == nil || c.field.Of == nil {
			continue
		}
		s.counts[*c.field.Of] = true
		for _, t := range s.tables {
			for _, p := range t.parts {
				p.counts[*c.field.Of] = p.counts[*c.field.Of] || p.has(i)
			}
		}
		r := &Reading{never: s.origin != foreign || neverZero(*c.field.Of)}
		for _, row := range s.rows {
			if row.of.has(i) && row.cells != nil {
				r.add(s.kindOf(row.cell(i)), row.cell(i))
			}
		}
		r.BlankIs = BlankUnknown
		if !r.never && r.Zeros == 0 && r.Counts > 0 {
			r.BlankIs = BlankZero
		}
		if rule, ok := rules[i]; ok {
			r.BlankIs, r.override = rule.Is, true
		}
		c.Reading = r
	}
	return nil
}

func neverZero(c journal.Count) bool {
	return c == journal.CountMinutesLost || c == journal.CountUntimed || c == journal.CountChecks || c == journal.CountTurns
}

func (r *Reading) add(kind cellKind, cell string) {
	switch kind {
	case blankCell:
		r.Blanks++
	case unknownCell:
		r.Unknown++
	case zeroCell:
		r.Counts++
		r.Zeros++
	case valueCell:
		r.Counts++
		if strings.Trim(cell, "0.,: ") == "" {
			r.Zeros++
		}
	}
}

// blankRules returns what somebody has said of blanks, by the place of the column.
func (s *Sheet) blankRules() (map[int]BlankRule, error) {
	rules := map[int]BlankRule{}
	for _, rule := range s.options.Blanks {
		at := slices.IndexFunc(s.columns, func(c *column) bool {
			return c.field != nil && c.field.Of != nil && (c.called(rule.Header) || headerKey(c.field.Key) == headerKey(rule.Header))
		})
		if at < 0 {
			var counts []string
			for _, c := range s.columns {
				if c.field != nil && c.field.Of != nil {
					counts = append(counts, c.Header)
				}
			}
			return nil, fmt.Errorf("no column of counts is called %q; name one of: %s", rule.Header, cmp.Or(strings.Join(counts, ", "), "none, since the file has no such column"))
		}
		rules[at] = rule
	}
	return rules, nil
}

// called reports whether a column is written so anywhere.
func (c *column) called(header string) bool {
	return sameHeader(c.Header, header) || slices.ContainsFunc(c.Headers, func(h string) bool { return sameHeader(h, header) })
}

// sentence tells how the column's cells were taken: "recorded in every row".
func (r *Reading) sentence(header string) string {
	var parts []string
	switch {
	case r.Counts == 0 && r.BlankIs == BlankUnknown:
		return "no count in any row, so not recorded"
	case r.Blanks+r.Unknown == 0:
		return "recorded in every row"
	}
	if r.Blanks > 0 {
		blanks := exchange.Verb(r.Blanks, "blank", "is read as", "are read as")
		switch {
		case r.override:
			blanks += " " + r.BlankIs.words() + ", as asked for"
		case r.BlankIs == BlankZero:
			blanks += fmt.Sprintf(" zero, since no zero is ever written here; --blank %q reads blanks as not recorded", header+"=unknown")
		case r.never:
			blanks += " not recorded"
		default:
			blanks += fmt.Sprintf(" not recorded, since zeros are written here; --blank %q reads blanks as zero", header+"=zero")
		}
		parts = append(parts, blanks)
	}
	if r.Unknown > 0 {
		parts = append(parts, exchange.Verb(r.Unknown, "cell", "says", "say")+" not counted")
	}
	return strings.Join(parts, "; ")
}

func (b Blank) words() string {
	if b == BlankZero {
		return "zero"
	}
	return "not recorded"
}
