package table

import (
	"cmp"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

const (
	gap     = "  " // stands between columns
	indent  = "  " // begins the lines that follow a row
	comfort = 20   // characters down to which words are folded before a column gives way
)

// WriteText lines the table up within a width, in characters; 0 is without end. Where it is too wide, what has a
// column to stand below becomes a second line in its cells, texts are folded between words, and the columns that can be
// spared most follow their row in a line of their own. Nothing is left out.
func (t Table) WriteText(w io.Writer, width int) error {
	l := newLayout(t.shown(People), width)
	var b strings.Builder
	l.line(&b, func(column int) []string { return l.titles(column) })
	for r := range l.table.Rows {
		l.line(&b, func(column int) []string { return l.texts(r, column) })
		l.follow(&b, r)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// layout is where each column of a table goes.
type layout struct {
	table  Table
	width  int
	top    []int         // columns with a place of their own
	widths map[int]int   // of those
	below  map[int][]int // what stands in their cells, below
	rest   []int         // columns that follow the row
}

func newLayout(t Table, width int) layout {
	l := layout{table: t, width: width, below: map[int][]int{}, widths: map[int]int{}}
	for i := range t.Columns {
		l.top = append(l.top, i)
	}
	if width <= 0 || l.sum(l.widest) <= width {
		l.hand(l.widest)
		return l
	}
	l.stack()
	for l.sum(l.comfortable) > width {
		spare := l.mostSpare()
		if t.Columns[spare].Spare == 0 {
			break
		}
		l.moveBelow(spare)
	}
	for l.sum(l.narrowest) > width && len(l.top) > 1 {
		l.moveBelow(l.mostSpare())
	}
	l.hand(l.narrowest)
	return l
}

// stack puts columns below the one that they name.
func (l *layout) stack() {
	var top []int
	for _, i := range l.top {
		if at := l.table.index(l.table.Columns[i].Below); l.table.Columns[i].Below != "" && at >= 0 && at != i {
			l.below[at] = append(l.below[at], i)
		} else {
			top = append(top, i)
		}
	}
	l.top = top
}

// mostSpare is the column that can best do without its place: of those with a rank the highest, else the last.
func (l layout) mostSpare() int {
	return slices.MaxFunc(l.top[1:], func(a, b int) int {
		return cmp.Or(cmp.Compare(l.table.Columns[a].Spare, l.table.Columns[b].Spare), cmp.Compare(a, b))
	})
}

// moveBelow makes a column, with what stands in its cells, follow the row.
func (l *layout) moveBelow(column int) {
	l.rest = append(append(l.rest, column), l.below[column]...)
	slices.Sort(l.rest)
	l.top = slices.DeleteFunc(l.top, func(i int) bool { return i == column })
}

// hand gives each column the least that it needs, and then what is left of the width, a character at a time, to the
// column that is folded into the most lines.
func (l *layout) hand(least func(int) int) {
	room := l.width - l.sum(least)
	lines := map[int]int{}
	for _, i := range l.top {
		l.widths[i] = least(i)
		if l.width > 0 {
			l.widths[i] = min(l.widths[i], l.width)
		}
		lines[i] = l.lines(i)
	}
	for ; room > 0; room-- {
		most := slices.MaxFunc(l.top, func(a, b int) int { return cmp.Compare(lines[a], lines[b]) })
		if lines[most] == 1 {
			break
		}
		l.widths[most]++
		lines[most] = l.lines(most)
	}
}

// lines is into how many a column is folded, as far as its first rows tell.
func (l layout) lines(column int) int {
	const looked = 200
	most := 1
	count := func(texts []string) {
		n := -len(texts) + 1 // what stands below is no fold
		for _, text := range texts {
			n += len(cut(text, l.widths[column]))
		}
		most = max(most, n)
	}
	count(l.titles(column))
	for r := range l.table.Rows[:min(looked, len(l.table.Rows))] {
		count(l.texts(r, column))
	}
	return most
}

func (l layout) sum(of func(int) int) int {
	sum := len(gap) * max(0, len(l.top)-1)
	for _, i := range l.top {
		sum += of(i)
	}
	return sum
}

func (l layout) widest(column int) int { return l.measure(column, utf8.RuneCountInString) }

// comfortable is how narrow a column reads well.
func (l layout) comfortable(column int) int {
	return max(l.narrowest(column), min(l.widest(column), comfort))
}

// narrowest is how narrow a column can be without breaking a word, unless that takes more than half of the width.
func (l layout) narrowest(column int) int {
	least := l.measure(column, func(text string) int {
		n := 1
		for _, word := range words(text) {
			n = max(n, utf8.RuneCountInString(word))
		}
		return n
	})
	if l.table.Columns[column].Words {
		least = min(least, max(1, l.width/2))
	}
	return least
}

// measure is the most that a text of a column comes to.
func (l layout) measure(column int, of func(string) int) int {
	n := 1
	for _, text := range l.titles(column) {
		n = max(n, of(text))
	}
	for r := range l.table.Rows {
		for _, text := range l.texts(r, column) {
			n = max(n, of(text))
		}
	}
	return n
}

func (l layout) titles(column int) []string {
	list := []string{l.table.Columns[column].Title}
	for _, i := range l.below[column] {
		list = append(list, l.table.Columns[i].Title)
	}
	return list
}

func (l layout) texts(row, column int) []string {
	list := []string{l.table.Rows[row].Cells[column].Text}
	for _, i := range l.below[column] {
		if text := l.table.Rows[row].Cells[i].Text; text != "" {
			list = append(list, l.table.Columns[i].Mark+text)
		}
	}
	return list
}

// line writes what stands in the columns, in as many lines as the longest of it folds into.
func (l layout) line(b *strings.Builder, texts func(column int) []string) {
	folded := make([][]string, len(l.top))
	lines := 1
	for n, i := range l.top {
		for _, text := range texts(i) {
			folded[n] = append(folded[n], cut(text, l.widths[i])...)
		}
		lines = max(lines, len(folded[n]))
	}
	for at := range lines {
		var line strings.Builder
		for n, parts := range folded {
			text, i := "", l.top[n]
			if at < len(parts) {
				text = parts[at]
			}
			pad := strings.Repeat(" ", max(0, l.widths[i]-utf8.RuneCountInString(text)))
			if n > 0 {
				line.WriteString(gap)
			}
			if l.table.Columns[i].Words {
				line.WriteString(text + pad)
			} else {
				line.WriteString(pad + text)
			}
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
}

// follow writes what a row has in the columns without a place, each after its title.
func (l layout) follow(b *strings.Builder, row int) {
	line := ""
	for _, i := range l.rest {
		text, title := l.table.Rows[row].Cells[i].Text, l.table.Columns[i].Title
		if text == "" {
			continue
		}
		if title != "" {
			text = title + ": " + text
		}
		switch {
		case line == "":
			line = text
		case utf8.RuneCountInString(indent+line+"; "+text) > l.width:
			l.followed(b, line+";")
			line = text
		default:
			line += "; " + text
		}
	}
	if line != "" {
		l.followed(b, line)
	}
}

func (l layout) followed(b *strings.Builder, text string) {
	for _, part := range cut(text, max(1, l.width-len(indent))) {
		b.WriteString(indent + part + "\n")
	}
}
