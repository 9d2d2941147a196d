package read

import (
	"bytes"
	"fmt"
	"strings"

	"rigtally/journal/gauge"
)

// decimals is how a table writes its numbers. 1,500 is one and a half or fifteen hundred: which of them is decided over the whole
// table.
type decimals struct {
	comma, point string // the first row in which that mark can be nothing but the decimal one
	unclear      [2]unclearNumber
	whole        bool // some number has no mark at all
}

// unclearNumber is the first that has a mark, comma or point, before exactly three digits.
type unclearNumber struct {
	shown string
	place string
}

// marks are those by which numbers are parted.
const marks = ",."

// numeral is a number as people write it. Of one whose only mark stands before exactly three digits the value is that without the
// mark, which is told, and thousandths until decide.
func (p *plainTable) numeral(cell []byte, place string) (v float64, f gauge.Flags, mark byte, err error) {
	text := plainMarks(cell)
	digits := strings.TrimLeft(text, "<>= +-")
	commas, points := strings.Count(digits, ","), strings.Count(digits, ".")
	decimal := byte(0)
	switch last := strings.LastIndexAny(digits, marks); {
	case last < 0:
		p.decimals.whole = true
	case strings.ContainsAny(digits, "eE"):
		// 1.5e-05, which a program wrote
	case commas > 0 && points > 0:
		decimal = digits[last]
	case commas+points > 1:
		decimal = marks[1-strings.IndexByte(marks, digits[last])] // 1,234,567
	case grouped(digits, digits[last]):
		mark = digits[last]
	default:
		decimal = digits[last]
	}
	switch {
	case mark != 0:
		text = strings.ReplaceAll(text, string(mark), "")
		if u := &p.decimals.unclear[strings.IndexByte(marks, mark)]; u.shown == "" {
			u.shown, u.place = clip(digits), place
		}
	case decimal != 0:
		whole, _, _ := strings.Cut(digits, string(decimal))
		group := marks[1-strings.IndexByte(marks, decimal)]
		if strings.IndexByte(digits, group) >= 0 && !grouped(whole, group) {
			return 0, 0, 0, p.wrongf(place, "%q is not a number", clip(latin(cell)))
		}
		text = strings.ReplaceAll(strings.ReplaceAll(text, string(group), ""), ",", ".")
		if decimal == ',' && p.decimals.comma == "" {
			p.decimals.comma = p.l.place()
		}
		if decimal == '.' && p.decimals.point == "" {
			p.decimals.point = p.l.place()
		}
		if p.decimals.comma != "" && p.decimals.point != "" {
			return 0, 0, 0, p.wrongf(place, "decimals are written with a comma (%s) and with a point (%s); which is it?", p.decimals.comma, p.decimals.point)
		}
	}
	v, f, ok := value([]byte(text))
	if !ok {
		return 0, 0, 0, p.wrongf(place, "%q is not a number", clip(latin(cell)))
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
	parts := strings.Split(digits, string(mark))
	for i, part := range parts {
		if !allDigits(part) || i > 0 && len(part) != 3 || i == 0 && (len(part) > 3 || part[0] == '0') {
			return false
		}
	}
	return len(parts) > 1
}

// decide finds the decimal mark once all numbers are known, and puts it in. Where nothing tells, nobody guesses.
func (p *plainTable) decide() error {
	d := p.decimals
	comma, point := d.unclear[0].shown != "", d.unclear[1].shown != ""
	decimal := byte('.')
	switch {
	case d.comma != "":
		decimal = ','
	case d.point != "" || !comma && !point:
	case comma && !point && p.separator == ',':
		// who parts cells by commas doesn't write decimals with them
	case comma && !point && p.separator == ';' && !d.whole:
		decimal = ','
	case point && !comma && (p.separator != ';' || !d.whole):
	default:
		u := d.unclear[0]
		if !comma {
			u = d.unclear[1]
		}
		whole := strings.NewReplacer(",", "", ".", "").Replace(u.shown)
		return p.wrongf(u.place, "%q may be %s or %s; write numbers without a mark for thousands", u.shown, strings.Replace(u.shown, ",", ".", 1), whole)
	}
	for _, c := range p.values {
		for i, r := range c.readings {
			if r.mark == decimal {
				c.readings[i].v = r.v / 1000
			}
		}
	}
	if u := d.unclear[1-strings.IndexByte(marks, decimal)]; u.shown != "" {
		p.notes = append(p.notes, fmt.Sprintf("Numbers such as %s are read as thousands.", u.shown))
	}
	return nil
}
