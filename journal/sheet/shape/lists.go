package shape

import (
	"fmt"
	"regexp"
	"strings"

	"rigtally/internal/units"
)

var (
	// A comma between digits may be a decimal one or group thousands, and a slash with such a number below it makes a fraction.
	listMarks = regexp.MustCompile(`\s*[;\n&|]\s*|\s*,\s+|,(?:\D)|\s+/\s+|\s+\+\s+|\s+(?:and|und|et|y|e|i|a|och|og|ja|then)\s+`)
	slashed   = regexp.MustCompile(`^\d+(?:[.,]\d+)?\s*(?:[/+]\s*\d+(?:[.,]\d+)?\s*)+$`)
	fraction  = regexp.MustCompile(`^\d+\s*/\s*(?:2|3|4|8|16|32|64)$`)
)

// Lists finds cells of a row that hold several values where one belongs, as where two
// rigs of a day share a row: "fig 8, blood", "90/60". Flies and notes may be lists, and so
// may what isKnot doesn't know.
func Lists(names []string, row Row, u Understand, isKnot func(string) bool) (problems []Problem) {
	for i, n := range names {
		key, ok := u.known(n)
		cell := row.cell(i)
		if !ok || units.IsBlank(cell) || !natures[key].is(count|span|measure|knot) {
			continue
		}
		if values := listed(cell, natures[key], isKnot); values > 1 {
			problems = append(problems, Problem{Row: row.Number, Header: n, Text: cell, What: fmt.Sprintf("holds %d values where one belongs", values), Remedy: "write one row for each rig"})
		}
	}
	return problems
}

// listed counts the values in a cell.
func listed(cell string, is nature, isKnot func(string) bool) int {
	cell = strings.TrimSpace(cell)
	if is.is(knot) {
		n := 0
		for _, part := range regexp.MustCompile(`[,;/\n&+|]|\s(?:and|und|et|y|e|i|a|och|og|ja|then)\s`).Split(cell, -1) {
			if isKnot(strings.TrimSpace(part)) {
				n++
			}
		}
		if isKnot(cell) {
			return 1
		}
		return n
	}
	if slashed.MatchString(cell) && !(is.is(measure) && fraction.MatchString(cell)) {
		return strings.Count(cell, "/") + strings.Count(cell, "+") + 1
	}
	n := 0
	for _, part := range listMarks.Split(cell, -1) {
		if strings.ContainsAny(part, "0123456789") {
			n++
		}
	}
	return n
}
