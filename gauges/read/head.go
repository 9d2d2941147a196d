package read

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Titles stand above a table in so many lines at most, and in so many bytes.
const (
	mostTitles = 50
	mostHead   = 16 << 10
)

// skipTitles goes past what stands above a table: titles, where and when it was made. It gives the line of the names, or the first
// row where there are no names.
func (b *book) skipTitles(l *lines, first []byte) ([]byte, error) {
	first = slices.Clone(first) // which a look ahead writes over
	head, _ := l.in.Peek(mostHead)
	list, lines := [][]byte{first}, []int{0} // a name in quotes may go on over lines
	for n := 1; len(head) > 0 && len(list) < mostTitles; n++ {
		text, rest, whole := bytes.Cut(head, []byte("\n"))
		if !whole && len(head) == mostHead {
			break
		}
		text, head = bytes.TrimSuffix(text, []byte("\r")), rest
		if last := list[len(list)-1]; bytes.Count(last, []byte(`"`))%2 == 1 {
			list[len(list)-1] = slices.Concat(last, []byte(" "), text)
			continue
		}
		list, lines = append(list, text), append(lines, n)
	}
	at := lines[names(list)]
	if at == 0 {
		return first, nil
	}
	for range at {
		text, err := l.next()
		if err != nil {
			return nil, err
		}
		first = slices.Clone(text)
	}
	b.notes = append(b.notes, fmt.Sprintf("The table begins in %s; what stands above it is left out.", l.place()))
	return first, nil
}

// names finds the line with the names of columns among the first of a file, or the first row where there are none. The last that
// names both times and values and is as wide as the first row comes before others.
func names(list [][]byte) int {
	both, timed, words := -1, -1, -1
	for i, text := range list {
		switch looksLike(text) {
		case namesOfBoth:
			both = i
		case namesOfTime:
			timed = i
		case someNames:
			words = i
		case aRow:
			for _, at := range []int{both, timed, words} {
				if at >= 0 && (at == both || at == 0 || onlyBlank(list[at+1:i])) && columnsOf(list[at]) == columnsOf(text) {
					return at
				}
			}
			if both < 0 && timed < 0 && words != 0 {
				return i
			}
			return max(both, 0)
		}
	}
	return max(cmp.Or(both+1, timed+1)-1, 0)
}

func columnsOf(text []byte) int {
	t := &table{separator: separatorOf(text)}
	_ = t.split(text) // what looks like a row or like names can be
	return len(t.cells)
}

func onlyBlank(list [][]byte) bool {
	return !slices.ContainsFunc(list, func(text []byte) bool { return len(bytes.Trim(text, " ,;\t\"")) > 0 })
}

// looks are what a line may be, by itself.
type looks byte

const (
	unlike looks = iota
	someNames
	namesOfTime
	namesOfBoth
	aRow
)

func looksLike(text []byte) looks {
	t := &table{book: newBook("", Options{}), l: &lines{whole: true}, separator: separatorOf(text)}
	if bytes.HasPrefix(text, []byte("agency_cd\t")) {
		return namesOfBoth
	}
	if err := t.split(text); err != nil || len(t.cells) < 2 {
		return unlike
	}
	times, values, dates, numbers := 0, 0, 0, 0
	for _, cell := range t.cells {
		switch r := roleOf(latin(cell)); {
		case bytes.HasPrefix(cell, []byte("00")) && len(cell) == 5 && allDigits(string(cell)):
			values++ // the number of a parameter
		case t.isTime(cell):
			dates++
		case isNumber(cell):
			numbers++
		case r.quantity != "":
			values++
		case r.day || r.hour:
			times++
		}
	}
	switch {
	case dates > 0 && numbers > 0:
		return aRow
	case dates > 0 || numbers > 0:
		return unlike
	case times > 0 && values > 0:
		return namesOfBoth
	case times > 0:
		return namesOfTime
	}
	return someNames
}

func (t *table) isTime(cell []byte) bool {
	_, _, _, ok := (&plainTable{table: t}).parse(bytes.TrimSpace(cell))
	return ok
}

func isNumber(cell []byte) bool {
	_, ok := number(bytes.Replace(bytes.TrimSpace(cell), []byte(","), []byte("."), 1))
	return ok
}

// ahead are the cells of the next line, nil where it isn't like a row.
func (p *plainTable) ahead() [][]byte {
	head, _ := p.l.in.Peek(mostHead)
	for {
		text, rest, _ := bytes.Cut(head, []byte("\n"))
		if head = rest; len(head) > 0 && len(bytes.TrimSpace(text)) == 0 {
			continue
		}
		next := &table{book: p.book, l: &lines{whole: true}, separator: p.separator}
		if err := next.split(bytes.TrimSuffix(text, []byte("\r"))); err != nil || len(next.cells) < p.width {
			return nil
		}
		return next.cells[:p.width]
	}
}

// unitsBelow takes the units that some programs write into a row of their own below the names, and passes a row of widths.
func (p *plainTable) unitsBelow(names []string) {
	units, widths := map[int]string{}, 0
	for i, cell := range p.ahead() {
		if isNumber(cell) || p.isTime(cell) {
			return // a row, with a unit in a column of its own
		}
		text := strings.Trim(strings.TrimSpace(latin(cell)), "()[]")
		if _, ok := unitOf(text); ok && !strings.HasPrefix(strings.ToLower(names[i]), "unit") {
			units[i] = text
		}
		if n := len(text); n > 1 && strings.ContainsRune("sdn", rune(text[n-1])) && allDigits(text[:n-1]) {
			widths++
		}
	}
	if len(units) == 0 && widths < p.width {
		return
	}
	for i, unit := range units {
		if roleOf(names[i]).unit == "" {
			names[i] += " (" + unit + ")"
		}
	}
	for {
		if text, err := p.l.next(); err != nil || len(bytes.TrimSpace(text)) > 0 {
			return
		}
	}
}
