package read

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"

	"rigtally/journal/gauge"
)

// decimals is how a table writes its numbers. 1,500 is one and a half or fifteen hundred: which of them is decided over the whole
// table.
type decimals struct {
	comma, point string // the first row in which that mark can be nothing but the decimal one
	ungrouped    bool   // some number of thousands has no mark for them
}

// unclear is what a column leaves open.
type unclear struct {
	comma, point unclearNumber
	whole        bool // some number has no mark at all
}

// unclearNumber is the first that has a mark before exactly three digits.
type unclearNumber struct{ shown, place string }

// marks are those by which numbers are parted.
const marks = ",."

// numeral is a number as people write it. Of one whose only mark stands before exactly three digits the value is that without the
// mark, which is told, and thousandths until decide.
func (p *plainTable) numeral(c *plainColumn, cell []byte) (v float64, f gauge.Flags, mark byte, err error) {
	text := plainMarks(cell)
	digits := strings.TrimLeft(text, "<>= +-")
	commas, points := strings.Count(digits, ","), strings.Count(digits, ".")
	decimal := byte(0)
	switch last := strings.LastIndexAny(digits, marks); {
	case last < 0:
		c.unclear.whole = true
		p.decimals.ungrouped = p.decimals.ungrouped || len(digits) > 3 && allDigits(digits)
	case commas > 0 && points > 0:
		decimal = digits[last]
	case commas+points > 1:
		decimal = marks[1-strings.IndexByte(marks, digits[last])] // 1,234,567
	case grouped(digits, digits[last]):
		mark = digits[last]
	case strings.ContainsAny(digits, "eE"):
		// 1.5e-05, which a program wrote
	default:
		decimal = digits[last]
	}
	switch {
	case mark != 0:
		text = strings.ReplaceAll(text, string(mark), "")
		u := &c.unclear.comma
		if mark == '.' {
			u = &c.unclear.point
		}
		if u.shown == "" {
			*u = unclearNumber{clip(digits), p.place(c.value)}
		}
	case decimal != 0:
		whole, _, _ := strings.Cut(digits, string(decimal))
		group := marks[1-strings.IndexByte(marks, decimal)]
		if strings.IndexByte(digits, group) >= 0 && !grouped(whole, group) {
			return 0, 0, 0, p.wrongf(p.place(c.value), "%q is not a number", clip(latin(cell)))
		}
		text = strings.ReplaceAll(strings.ReplaceAll(text, string(group), ""), ",", ".")
		if decimal == ',' && p.decimals.comma == "" {
			p.decimals.comma = p.l.place()
		}
		if decimal == '.' && p.decimals.point == "" {
			p.decimals.point = p.l.place()
		}
		if p.decimals.comma != "" && p.decimals.point != "" {
			return 0, 0, 0, p.wrongf(p.place(c.value), "decimals are written with a comma (%s) and with a point (%s); which is it?", p.decimals.comma, p.decimals.point)
		}
	}
	v, f, ok := value([]byte(text))
	if !ok {
		return 0, 0, 0, p.wrongf(p.place(c.value), "%q is not a number", clip(latin(cell)))
	}
	return v, f, mark, nil
}

// plainMarks takes the marks of thousands out that are no decimals anywhere, spaces and apostrophes, and writes a minus as
// machines do.
func plainMarks(cell []byte) string {
	if bytes.IndexFunc(cell, func(r rune) bool { return r == ' ' || r == '\'' || r > 127 }) < 0 {
		return string(cell)
	}
	text := strings.Replace(latin(cell), "−", "-", 1)
	for _, mark := range []string{" ", "\u00a0", "\u2009", "\u202f", "'", "’"} {
		if !strings.Contains(text, mark) {
			continue
		}
		digits := strings.TrimLeft(text, "<>= +-")
		whole := digits
		if i := strings.IndexAny(digits, marks); i >= 0 {
			whole = digits[:i]
		}
		if grouped(strings.ReplaceAll(whole, mark, ","), ',') {
			text = strings.ReplaceAll(text, mark, "")
		}
	}
	return text
}

// grouped reports whether a whole number has a mark for its thousands: 1,500 and 1,234,567, but not 0,500.
func grouped(digits string, mark byte) bool {
	head, rest, found := strings.Cut(digits, string(mark))
	if !found || len(head) > 3 || !allDigits(head) || head[0] == '0' {
		return false
	}
	for found {
		if head, rest, found = strings.Cut(rest, string(mark)); len(head) != 3 || !allDigits(head) {
			return false
		}
	}
	return true
}

// decide finds the decimal mark once all numbers are known, and puts it in. Where nothing tells, nobody guesses.
func (p *plainTable) decide() error {
	decimal, open := p.decimalMark()
	if open.shown != "" {
		whole := strings.NewReplacer(",", "", ".", "").Replace(open.shown)
		return p.wrongf(open.place, "%q may be %s or %s; write all numbers of the column with as many decimals, or none with a mark for thousands", open.shown, strings.Replace(open.shown, ",", ".", 1), whole)
	}
	thousands := ""
	for _, c := range p.values {
		for i, r := range c.readings {
			if r.mark == decimal {
				c.readings[i].v = r.v / 1000
			}
		}
		grouping := c.unclear.comma
		if decimal == ',' {
			grouping = c.unclear.point
		}
		thousands = cmp.Or(thousands, grouping.shown)
	}
	if thousands != "" {
		p.notes = append(p.notes, fmt.Sprintf("Numbers such as %s are read as thousands.", thousands))
	}
	return nil
}

// decimalMark is the mark, or a number that leaves it open.
func (p *plainTable) decimalMark() (mark byte, open unclearNumber) {
	var comma, point unclearNumber // the first, those before others that stand in a column with whole numbers
	whole := false
	for _, c := range p.values {
		u := c.unclear
		mixed := u.whole && (u.comma.shown != "" || u.point.shown != "")
		if comma.shown == "" || mixed && !whole && u.comma.shown != "" {
			comma = u.comma
		}
		if point.shown == "" || mixed && !whole && u.point.shown != "" {
			point = u.point
		}
		whole = whole || mixed
	}
	none := unclearNumber{}
	switch {
	case p.decimals.comma != "":
		return ',', none
	case p.decimals.point != "", comma == none && point == none:
		return '.', none
	case comma != none && point != none:
		return 0, comma
	case comma != none && p.separator == ',' && !p.decimals.ungrouped:
		return '.', none // who parts cells by commas doesn't write decimals with them
	case comma != none && p.separator != ',' && (p.decimals.ungrouped || p.separator == ';' && !whole):
		return ',', none
	case comma != none:
		return 0, comma
	case p.decimals.ungrouped || p.separator == ',' || !whole:
		return '.', none
	}
	return 0, point
}
