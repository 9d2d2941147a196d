package shape

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// fold makes a Fold of an arrangement, or says why its parts can't be told apart.
func (p *parting) fold(a *arrangement) (*Fold, []Problem) {
	f := &Fold{Kind: Rigs}
	if a.family == byFly {
		f.Kind = Flies
	}
	for i := range p.names {
		f.written = append(f.written, p.names[i].shown())
	}
	f.Parts = make([]Part, len(a.parts))
	for i, part := range a.parts {
		f.Parts[i].Label = part.text
	}
	problems := f.place(a)
	owner := make([][2]int, len(p.names)) // part, from 1, and place in it
	for i, part := range a.parts {
		for j, m := range part.columns {
			owner[m.at] = [2]int{i + 1, j}
		}
	}
	columns := map[string]int{} // of the fold, by what they tell
	first := map[string]member{}
	for at := range p.names {
		if owner[at][0] == 0 {
			continue
		}
		part := owner[at][0] - 1
		m := a.parts[part].columns[owner[at][1]]
		column, known := columns[m.same()]
		switch {
		case !known:
			column = len(f.Names)
			columns[m.same()], first[m.same()] = column, m
			f.add(m.text, m.key, slices.Repeat([]int{-1}, len(a.parts))...)
		case f.From[column][part] >= 0:
			problems = append(problems, Problem{Header: f.written[at], What: fmt.Sprintf("tells the same as “%s”", f.written[f.From[column][part]]), Remedy: "rename or leave out one of them"})
		case natures[m.key].is(measure) && !alike(m.text, first[m.same()].text):
			problems = append(problems, Problem{Header: f.written[at], What: fmt.Sprintf("may be in another unit than “%s”", f.written[first[m.same()].at]),
				Remedy: "write both headers in the same way, with the same unit, and convert the numbers if need be"})
		}
		f.From[column][part] = at
	}
	for at := range p.names {
		if owner[at][0] > 0 {
			continue
		}
		key := p.key[at]
		column, twice := columns[key]
		switch {
		case key == "" || !twice:
			f.add(p.text[at], key, at)
		case natures[key].is(count):
			f.totals = append(f.totals, total{at, column})
		default:
			problems = append(problems, Problem{Header: f.written[at], What: fmt.Sprintf("tells the same as “%s”, but for no part", f.written[first[key].at]), Remedy: "rename it or leave it out"})
		}
	}
	if f.Kind == Flies {
		for at, key := range p.key {
			if key == "position" && owner[at][0] == 0 {
				problems = append(problems, Problem{Header: p.text[at], What: "tells positions, and so do the headers of " + a.list(), Remedy: "leave it out, or write one row for each fly"})
			}
		}
		f.add("position", "position", slices.Repeat([]int{-1}, len(a.parts))...)
	}
	if len(problems) > 0 {
		return nil, problems
	}
	f.sort()
	return f, nil
}

func (f *Fold) add(text, key string, from ...int) {
	f.Names, f.keys, f.From = append(f.Names, text), append(f.keys, key), append(f.From, from)
}

// sort puts the columns into the order in which they first come as written; a position comes last.
func (f *Fold) sort() {
	first := func(column int) int {
		least := len(f.written)
		for _, at := range f.From[column] {
			if at >= 0 {
				least = min(least, at)
			}
		}
		return least
	}
	order := make([]int, len(f.Names))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return first(a) - first(b) })
	names, keys, from := f.Names, f.keys, f.From
	f.Names, f.keys, f.From = nil, nil, nil
	for _, i := range order {
		f.add(names[i], keys[i], from[i]...)
	}
	for i := range f.totals {
		f.totals[i].column = slices.Index(order, f.totals[i].column)
	}
}

// place gives flies their positions: the point, and droppers from 1 next to it up the leader.
func (f *Fold) place(a *arrangement) (problems []Problem) {
	if a.family != byFly {
		return nil
	}
	levels, numbers := 0, 0
	for _, part := range a.parts { // by index: bottom, middle, top, the dropper, the point, numbered droppers
		switch {
		case part.index >= numbered:
			numbers++
		case part.index != pointFly:
			levels++
		}
	}
	next := 1
	for i, part := range a.parts {
		switch {
		case part.index == pointFly:
			f.Parts[i].Position = "point"
		case part.index >= numbered:
			f.Parts[i].Position = strconv.Itoa(part.index - numbered)
		default:
			f.Parts[i].Position = strconv.Itoa(next)
			next++
		}
		if part.index == bottom && !part.explicit {
			problems = append(problems, Problem{Header: part.text, What: "may be the point or the lowest dropper", Remedy: "write point or bottom dropper in the header"})
		}
		if part.index == onlyDropper && levels > 1 || levels > 0 && numbers > 0 && part.index != pointFly {
			problems = append(problems, Problem{Header: part.text, What: "can't be placed among " + a.list(), Remedy: "number the droppers, from 1 next to the point"})
		}
	}
	return problems
}

// blocks arranges equal headers that come again in the same order: knot, fish, knot, fish.
func (p *parting) blocks() *arrangement {
	at := map[string][]int{}
	var order []string
	for i, key := range p.key {
		if key == "" {
			continue
		}
		if len(at[key]) == 0 {
			order = append(order, key)
		}
		at[key] = append(at[key], i)
	}
	order = slices.DeleteFunc(order, func(key string) bool { return len(at[key]) < 2 })
	if len(order) < 2 {
		return nil
	}
	a := &arrangement{family: byNumber}
	last := -1
	for n := range at[order[0]] {
		part := &arranged{label: label{family: byNumber, index: n + 1}}
		for _, key := range order {
			if len(at[key]) != len(at[order[0]]) || at[key][n] <= last || !alike(p.text[at[key][n]], p.text[at[key][0]]) {
				return nil
			}
			last = at[key][n]
			part.columns = append(part.columns, member{last, p.text[last], key})
		}
		part.text = fmt.Sprintf("columns %s to %s", letters(part.columns[0].at), letters(last))
		a.parts = append(a.parts, part)
	}
	if !a.apart() {
		return nil
	}
	return a
}

// letters names a column as spreadsheets do.
func letters(at int) string {
	s := ""
	for n := at + 1; n > 0; n = (n - 1) / 26 {
		s = string(rune('A'+(n-1)%26)) + s
	}
	return s
}

// unnamedBlocks refuses equal columns under different labels whose meaning isn't known.
func (p *parting) unnamedBlocks(a *arrangement) *Problem {
	seen := map[string]bool{}
	var labels []string
	for _, part := range a.parts {
		if upper := strings.TrimSpace(p.names[part.columns[0].at].upper); upper != "" && !seen[plain(upper)] {
			seen[plain(upper)] = true
			labels = append(labels, "“"+upper+"”")
		}
	}
	if len(labels) < 2 {
		return nil
	}
	return &Problem{Header: p.text[a.parts[0].columns[0].at], What: fmt.Sprintf("stands under %s, and what these are isn't known", strings.Join(labels, ", ")),
		Remedy: "write Rig 1, Rig 2 or AM, PM over the columns, or one row for each rig"}
}

// nested refuses parts within parts: AM top dropper fish, AM point fish, PM top dropper fish.
func (p *parting) nested() *Problem {
	for f := range families {
		a := p.arrangeNested(f)
		if len(a.parts) < 2 {
			continue
		}
		for _, part := range a.parts {
			var within []name
			for _, m := range part.columns {
				within = append(within, name{lower: m.text})
			}
			if inner, _ := newParting(within, p.u).best(nil); inner != nil && !inner.weak {
				return &Problem{Header: p.names[part.columns[0].at].shown(), What: fmt.Sprintf("tells of a part within a part: %s, and in each %s", a.list(), inner.list()),
					Remedy: "write one row for each rig"}
			}
		}
	}
	return nil
}

// arrangeNested groups the columns by labels of a family, whatever remains.
func (p *parting) arrangeNested(f family) *arrangement {
	a := &arrangement{family: f}
	for i, list := range p.splits {
		if sp := choose(list, f); sp != nil && p.key[i] == "" {
			a.add(sp.label, sp.text, member{i, sp.rest, sp.key})
		}
	}
	return a
}
