package shape

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"

	"rigtally/internal/units"
)

var (
	andWords = regexp.MustCompile(`\s(?:and|then|und|et|y|e|i|a|och|og|ja)\s`)
	pair     = regexp.MustCompile(`^\d+\s*/\s*\d+$`)
	below    = regexp.MustCompile(`^(?:2|3|4|8|16|32|64)(?:\D|$)`) // the line of a fraction
)

// Lists finds cells of a row that hold several values where one belongs, as where two
// rigs of a day share a row: "fig 8, blood", "90/60". Flies and notes may be lists, and a
// cell of a knot is one if it names several that isKnot knows.
func Lists(names []string, row Row, u Understand, isKnot func(string) bool) (problems []Problem) {
	for i, n := range names {
		key, ok := u.known(n)
		cell := row.cell(i)
		if !ok || units.IsBlank(cell) || !natures[key].is(count|span|measure|knot|clock) {
			continue
		}
		if values := listed(strings.TrimSpace(cell), natures[key], isKnot); values > 1 {
			problems = append(problems, Problem{Row: row.Number, Header: n, Text: cell, What: fmt.Sprintf("holds %d values where one belongs", values), Remedy: "write one row for each rig"})
		}
	}
	return problems
}

// listed counts the values in a cell.
func listed(cell string, is nature, isKnot func(string) bool) (n int) {
	switch {
	case is.is(knot):
		if isKnot(cell) {
			return 1
		}
		for _, part := range is.apart(cell) {
			if isKnot(part) {
				n++
			}
		}
		return n
	case is.is(ofTag) && pair.MatchString(cell):
		return 2 // a tag of 3/4 in is likelier 3 and 4 in
	}
	for _, part := range is.apart(cell) {
		if strings.ContainsAny(part, "0123456789") {
			n++
		}
	}
	return n
}

// parted reports whether a mark between two texts parts values: a comma but inside of a
// number, a slash but inside of a fraction.
func (n nature) parted(mark byte, left, right string) bool {
	inside := left != "" && right != "" && unicode.IsDigit(rune(left[len(left)-1])) && unicode.IsDigit(rune(right[0]))
	switch {
	case n.is(knot) || !inside:
		return true
	case mark == '/':
		return !n.is(measure) || !below.MatchString(right)
	}
	return mark == '+'
}

// apart cuts a cell at the marks and words that part values.
func (n nature) apart(cell string) (parts []string) {
	for _, piece := range strings.FieldsFunc(andWords.ReplaceAllString(cell, ";"), func(r rune) bool { return strings.ContainsRune(";\n&|", r) }) {
		from := 0
		for i := range len(piece) {
			if strings.IndexByte(",/+", piece[i]) >= 0 && n.parted(piece[i], piece[from:i], piece[i+1:]) {
				parts = append(parts, strings.TrimSpace(piece[from:i]))
				from = i + 1
			}
		}
		parts = append(parts, strings.TrimSpace(piece[from:]))
	}
	return parts
}
