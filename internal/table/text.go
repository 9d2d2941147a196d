package table

import (
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// gap stands between columns.
const gap = "  "

// WriteText lines the table up within a width, in characters; 0 is without end. Where it is too
// wide, columns that can be spared give way, then texts are wrapped between words. It returns
// the titles of the columns left away.
func (t Table) WriteText(w io.Writer, width int) (away []string, err error) {
	t = t.shown(People)
	for width > 0 && t.width(Table.widest) > width {
		spare := -1
		for i, c := range t.Columns {
			if c.Spare > 0 && (spare < 0 || c.Spare >= t.Columns[spare].Spare) {
				spare = i
			}
		}
		if spare < 0 {
			break
		}
		away = append(away, t.Columns[spare].Title)
		t = t.dropped(spare)
	}
	slices.Reverse(away)
	widths := t.widths(width)
	var b strings.Builder
	head, rows := t.Texts()
	t.line(&b, head, widths)
	for _, texts := range rows {
		t.line(&b, texts, widths)
	}
	_, err = io.WriteString(w, b.String())
	return away, err
}

func (t Table) dropped(column int) Table {
	var at []int
	for i := range t.Columns {
		if i != column {
			at = append(at, i)
		}
	}
	return t.at(at)
}

// widths starts from the narrowest that breaks no word and hands out what is left of the width,
// a character at a time to the column whose longest text is folded most.
func (t Table) widths(width int) []int {
	full := make([]int, len(t.Columns))
	have := make([]int, len(t.Columns))
	for i := range t.Columns {
		full[i], have[i] = t.widest(i), t.widest(i)
	}
	if width <= 0 || t.width(Table.widest) <= width {
		return full
	}
	room := width - len(gap)*(len(t.Columns)-1)
	for i := range t.Columns {
		have[i] = t.longestWord(i)
		room -= have[i]
	}
	for ; room > 0; room-- {
		most := 0
		for i := range have {
			if full[i]*have[most] > full[most]*have[i] {
				most = i
			}
		}
		have[most] = min(have[most]+1, full[most])
	}
	return have
}

func (t Table) width(of func(Table, int) int) int {
	sum := len(gap) * max(0, len(t.Columns)-1)
	for i := range t.Columns {
		sum += of(t, i)
	}
	return sum
}

func (t Table) widest(column int) int {
	n := utf8.RuneCountInString(t.Columns[column].Title)
	for _, row := range t.Rows {
		n = max(n, utf8.RuneCountInString(row.Cells[column].Text))
	}
	return n
}

func (t Table) longestWord(column int) int {
	n := 1
	longest := func(s string) {
		for word := range strings.FieldsSeq(s) {
			n = max(n, utf8.RuneCountInString(word))
		}
	}
	longest(t.Columns[column].Title)
	for _, row := range t.Rows {
		longest(row.Cells[column].Text)
	}
	return n
}

// line writes the texts of a row, in as many lines as its longest text folds into.
func (t Table) line(b *strings.Builder, texts []string, widths []int) {
	folded := make([][]string, len(texts))
	lines := 1
	for i, text := range texts {
		folded[i] = Fold(text, widths[i])
		lines = max(lines, len(folded[i]))
	}
	for n := range lines {
		var line strings.Builder
		for i, parts := range folded {
			text := ""
			if n < len(parts) {
				text = parts[n]
			}
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(text))
			if i > 0 {
				line.WriteString(gap)
			}
			if t.Columns[i].Words {
				line.WriteString(text + pad)
			} else {
				line.WriteString(pad + text)
			}
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
}

// Fold breaks a text between words so that each line keeps to a width, in characters; a longer
// word stands alone.
func Fold(text string, width int) []string {
	if utf8.RuneCountInString(text) <= width {
		return []string{text}
	}
	var lines []string
	for word := range strings.FieldsSeq(text) {
		last := len(lines) - 1
		if last >= 0 && utf8.RuneCountInString(lines[last])+1+utf8.RuneCountInString(word) <= width {
			lines[last] += " " + word
			continue
		}
		lines = append(lines, word)
	}
	return lines
}
