package sheet

import (
	"fmt"
	"slices"
	"strings"

	"rigtally/internal/units"
	"rigtally/journal/exchange"
	"rigtally/journal/sheet/shape"
)

// What stands for several rows is written once by many: in cells merged over them, in
// the first of them, or with a mark for "as above" in the others.

// shared reports whether one cell can tell the same of several rows.
func (f *field) shared() bool {
	return f != nil && f.Of == nil && !slices.Contains([]string{"minutes", "casts", "break_minutes", "uncounted", keyFish, keyTime}, f.Key)
}

// setCell gives a line a cell; the table's are nobody else's.
func setCell(l *shape.Row, at int, cell string) {
	for len(l.Cells) <= at {
		l.Cells = append(l.Cells, "")
	}
	l.Cells[at] = cell
}

// cellAt returns a cell of a line; those that it leaves off are blank.
func cellAt(l shape.Row, at int) string {
	if at < len(l.Cells) {
		return l.Cells[at]
	}
	return ""
}

// spread gives the rows that a merged cell covers what it says, if that names or
// describes something. A count or a time of several rows belongs to none of them.
func (t *table) spread() {
	t.spreadOver = map[[2]int]bool{}
	for _, m := range t.merged {
		if m.Bottom == m.Top || m.Left >= len(t.fields) || t.fields[m.Left] == nil {
			continue
		}
		var over []*shape.Row
		for i := range t.lines {
			if l := &t.lines[i]; l.Number >= m.Top && l.Number <= m.Bottom {
				over = append(over, l)
			}
		}
		if len(over) < 2 {
			continue
		}
		cell := cellAt(*over[0], m.Left)
		torn := tornCell{at: m.Left, cell: cell}
		for _, l := range over {
			torn.rows = append(torn.rows, l.Number)
			if t.fields[m.Left].shared() {
				setCell(l, m.Left, cell)
				t.spreadOver[[2]int{l.Number, m.Left}] = l != over[0]
			}
		}
		if !t.fields[m.Left].shared() && !units.IsBlank(cell) {
			t.torn = append(t.torn, torn)
		}
	}
}

// tornCell is a merged cell that holds one number for several rows.
type tornCell struct {
	rows []int // their numbers
	at   int   // its column as written
	cell string
}

// takeTorn refuses the rows of which a merged cell holds one number together.
func (s *Sheet) takeTorn(t *table, rows []*row) {
	for _, torn := range t.torn {
		for _, r := range rows {
			if at := slices.Index(torn.rows, r.number); at >= 0 {
				s.bad(r, t.header.Names[torn.at], torn.cell, &problem{what: fmt.Sprintf("is one number for %d rows", len(torn.rows)), remedy: "write one in each"})
			}
		}
	}
}

// asAbove are marks and words for what the row above says.
var asAbove = []string{`"`, `''`, "“", "”", "„", "〃", "ditto", "do", "dito", "idem", "id"}

func isDitto(cell string) bool {
	return cell != "" && len(cell) < 12 && slices.Contains(asAbove, strings.ToLower(strings.Trim(cell, " .-")))
}

// fillDown gives blank days, anglers and waters what the row above says, where the
// table writes a day only where it changes: there a blank plainly means so. A mark for
// "as above" always does.
func (s *Sheet) fillDown(t *table) {
	s.fillDittos(t)
	day := t.column("date")
	if day < 0 || !t.onceEach(day) {
		return
	}
	filled := map[int]bool{} // lines whose day was, or that stand under a merged one
	var told []string
	say := func(at, n int) {
		if n > 0 {
			told = append(told, fmt.Sprintf("%s (%d)", t.header.Names[at], n))
		}
	}
	for i, l := range t.lines {
		filled[i] = t.spreadOver[[2]int{l.Number, day}]
	}
	say(day, t.fill(day, func(i int) bool { filled[i] = true; return true }))
	for _, key := range []string{"angler", "water"} {
		at := t.column(key)
		if at < 0 {
			continue
		}
		// Beside a day that is written, only where most rows leave it blank.
		sparse := t.onceEach(at) && 2*t.blanks(at) >= len(t.lines)
		say(at, t.fill(at, func(i int) bool { return filled[i] || sparse }))
	}
	if len(told) > 0 {
		s.choose("Blank cells%s are taken as the row above says, since a day is written only where it changes: %s.", t.of(), strings.Join(told, ", "))
	}
}

// of names the table behind what is said of it.
func (t *table) of() string {
	if t.name == "" {
		return ""
	}
	return " of " + t.name
}

// column is the place of a field as written, -1 if the table does not have it.
func (t *table) column(key string) int {
	return slices.IndexFunc(t.fields, func(f *field) bool { return f != nil && f.Key == key })
}

// fill fills blank cells of some lines from the line above, unless a row without data
// lies between, and counts them.
func (t *table) fill(at int, may func(i int) bool) int {
	n := 0
	for i := 1; i < len(t.lines); i++ {
		above, l := t.lines[i-1], &t.lines[i]
		if strings.TrimSpace(cellAt(*l, at)) != "" || units.IsBlank(cellAt(above, at)) || t.broken(above.Number, l.Number) || !may(i) {
			continue
		}
		setCell(l, at, cellAt(above, at))
		n++
	}
	return n
}

// broken reports whether a row without data stands between two rows.
func (t *table) broken(above, below int) bool {
	at, found := slices.BinarySearch(t.breaks, above)
	return found || at < len(t.breaks) && t.breaks[at] < below
}

func (s *Sheet) fillDittos(t *table) {
	n := 0
	for i := 1; i < len(t.lines); i++ {
		for at, cell := range t.lines[i].Cells {
			if isDitto(cell) && at < len(t.fields) && t.fields[at].shared() {
				t.lines[i].Cells[at] = cellAt(t.lines[i-1], at)
				n++
			}
		}
	}
	if n > 0 {
		s.choose("%s “as above”%s, and is taken so.", exchange.Verb(n, "cell", "says", "say"), t.of())
	}
}

// onceEach reports whether a column writes something only where it changes: never the
// same as was written last, but for what a merged cell was spread over.
func (t *table) onceEach(at int) bool {
	last := ""
	for _, l := range t.lines {
		cell := strings.TrimSpace(cellAt(l, at))
		if units.IsBlank(cell) || t.spreadOver[[2]int{l.Number, at}] {
			continue
		}
		if strings.EqualFold(cell, last) {
			return false
		}
		last = cell
	}
	return true
}

func (t *table) blanks(at int) int {
	n := 0
	for _, l := range t.lines {
		if units.IsBlank(cellAt(l, at)) {
			n++
		}
	}
	return n
}
