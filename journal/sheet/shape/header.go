package shape

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"rigtally/internal/units"
)

// Header is where a sheet names its columns, and how.
type Header struct {
	Top, Bottom int       // numbers of its first and last row
	After       int       // place of the first row beneath it
	Names       []string  // of each column, with the label over it where that tells something
	Known       int       // columns that are understood
	Fold        *Fold     // how its columns belong to rigs or flies side by side, nil where there are none
	Problems    []Problem // why its columns can't be told apart

	rows [][]string
}

// firstRows is how far down a header may begin.
const firstRows = 30

// Find finds the header among the first rows: the row, or the two rows of which the
// upper one holds labels over several columns, in which a column of the given key and
// the most columns are understood; "" asks for no key. Labels reach as far as they are merged, and
// without merged ranges in their row to the next label. ok is false without a header.
func Find(rows []Row, merged []Range, u Understand, key string) (h Header, ok bool) {
	f := finder{rows: rows, merged: merged, u: u.remembered(), key: key}
	above := -1
	for i := range min(len(rows), firstRows) {
		if blank(rows[i].Cells) {
			continue
		}
		single, pair := f.single(i), Header{}
		if above >= 0 {
			pair = f.pair(above, i)
		}
		if single.Known > h.Known {
			h = single
		}
		if pair.Known > h.Known || pair.Known > 0 && pair.Known == h.Known && (h.Bottom == rows[i].Number || h.Bottom == rows[above].Number && f.unitsBeneath(above, i)) {
			h = pair
		}
		above = i
	}
	return h, h.Known > 0
}

// Guess finds the row that looks most like a header where Find finds none, for people to say what its columns are: the
// one of which the most is understood, else the first of the widest ones that hold different words and nothing else.
func Guess(rows []Row, merged []Range, u Understand) (h Header, ok bool) {
	const least = 3 // columns that tell of a session
	if h, _ = Find(rows, merged, u, ""); h.Known >= least-1 {
		return h, true
	}
	f, at, most := finder{rows: rows, merged: merged, u: u.remembered()}, -1, least-1
	for i := range min(len(rows)-1, firstRows) {
		if n := worded(rows[i].Cells); n > most {
			at, most = i, n
		}
	}
	if at < 0 {
		return Header{}, false
	}
	return f.single(at), true
}

// worded counts the cells of a row that are different words; 0 if any cell is something else.
func worded(cells []string) int {
	seen := map[string]bool{}
	for _, c := range cells {
		c = strings.TrimSpace(c)
		if c == "" {
			continue
		}
		if first, _ := utf8.DecodeRuneInString(c); !unicode.IsLetter(first) || seen[c] {
			return 0
		}
		seen[c] = true
	}
	return len(seen)
}

// remembered asks about each header once.
func (u Understand) remembered() Understand {
	known := map[string]string{}
	return func(header string) string {
		key, ok := known[header]
		if !ok {
			key = u(header)
			known[header] = key
		}
		return key
	}
}

type finder struct {
	rows   []Row
	merged []Range
	u      Understand
	key    string
}

func blank(cells []string) bool {
	return !slices.ContainsFunc(cells, func(c string) bool { return !units.IsBlank(c) })
}

// single reads one row as the header.
func (f *finder) single(i int) Header {
	names := make([]name, len(f.rows[i].Cells))
	for at, cell := range f.rows[i].Cells {
		names[at].lower = cell
	}
	return f.read(names, i, i)
}

// pair reads two rows as the header, the upper one holding labels; none if it can't be.
func (f *finder) pair(upper, lower int) Header {
	if written(f.rows[upper].Cells) < 1 || written(f.rows[lower].Cells) < 2 {
		return Header{}
	}
	labels, wide := f.reach(upper, len(f.rows[lower].Cells))
	names := make([]name, len(labels))
	for i := range names {
		names[i].lower = f.rows[lower].cell(i)
		if strings.TrimSpace(names[i].lower) != "" || f.rows[upper].cell(i) != "" {
			names[i].upper, names[i].stretched = labels[i], !wide && strings.TrimSpace(f.rows[upper].cell(i)) == ""
		}
	}
	for len(names) > len(f.rows[lower].Cells) && names[len(names)-1].full() == "" {
		names = names[:len(names)-1] // a title's row is longer
	}
	h := f.read(names, upper, lower)
	if h.Fold != nil || h.Problems != nil {
		return h
	}
	if written(f.rows[upper].Cells) < 2 && h.Known <= f.single(lower).Known {
		return Header{} // a title
	}
	return h
}

func written(cells []string) (n int) {
	for _, c := range cells {
		if strings.ContainsFunc(c, unicode.IsLetter) || strings.ContainsFunc(c, unicode.IsDigit) {
			n++
		}
	}
	return n
}

// reach gives each column the label that stands over it, and reports whether labels are merged.
func (f *finder) reach(row, width int) (labels []string, wide bool) {
	cells := f.rows[row].Cells
	labels = make([]string, max(width, len(cells)))
	for _, m := range f.merged {
		if m.Top <= f.rows[row].Number && f.rows[row].Number <= m.Bottom && m.Right > m.Left {
			wide = true
			for i := m.Left; i <= min(m.Right, len(labels)-1); i++ {
				labels[i] = f.rows[row].cell(m.Left)
			}
		}
	}
	last := ""
	for i := range labels {
		cell := f.rows[row].cell(i)
		switch {
		case strings.TrimSpace(cell) != "":
			last, labels[i] = cell, cell
		case !wide:
			labels[i] = last
		}
	}
	return labels, wide
}

// unitsBeneath reports whether a row holds nothing but units and the like of the row above it.
func (f *finder) unitsBeneath(upper, lower int) bool {
	n := 0
	for i, cell := range f.rows[lower].Cells {
		if strings.TrimSpace(cell) == "" {
			continue
		}
		above := f.rows[upper].cell(i)
		if _, ok := f.u.known(name{upper: above, lower: cell}.shown()); !ok || f.u(above) == "" {
			return false
		}
		n++
	}
	return n > 0
}

// read understands names as a header; none without the column that it must have.
func (f *finder) read(names []name, top, bottom int) Header {
	h := Header{Top: f.rows[top].Number, Bottom: f.rows[bottom].Number, After: bottom + 1}
	has := false
	for _, n := range names {
		text, key := n.whole(f.u)
		h.Names = append(h.Names, text)
		has = has || key == f.key || f.key == ""
		if key != "" {
			h.Known++
		}
	}
	if !has {
		return Header{}
	}
	for i := top; i <= bottom; i++ {
		h.rows = append(h.rows, f.rows[i].Cells)
	}
	h.Fold, h.Problems = parts(names, f.u)
	if h.Fold != nil {
		h.Known = h.Fold.known()
	}
	return h
}

// known counts the columns as written that are understood.
func (f *Fold) known() (n int) {
	for i, key := range f.keys {
		for _, at := range f.From[i] {
			if at >= 0 && key != "" {
				n++
			}
		}
	}
	return n + len(f.totals)
}

// Again reports whether a row repeats the header, or one row of it.
func (h Header) Again(cells []string) bool {
	trimmed := func(cells []string) []string {
		list := make([]string, len(cells))
		for i, c := range cells {
			list[i] = strings.TrimSpace(c)
		}
		for len(list) > 0 && list[len(list)-1] == "" {
			list = list[:len(list)-1]
		}
		return list
	}
	row := trimmed(cells)
	return len(row) > 1 && slices.ContainsFunc(h.rows, func(r []string) bool { return slices.Equal(trimmed(r), row) })
}
