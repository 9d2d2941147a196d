package shape

import (
	"fmt"
	"slices"
	"strings"
)

// Kind is what stands side by side.
type Kind int

// The kinds of parts.
const (
	Rigs  Kind = iota // fished one after the other: each is a stint of the same session
	Flies             // of one rig: each is a row of the same stint, with its position
)

// Fold is how the columns of a header belong to parts that stand side by side.
type Fold struct {
	Kind  Kind
	Parts []Part
	Names []string // of the columns that unfolding gives, shared ones among them
	From  [][]int  // for each of these, the column as written by part, -1 for none; one alone for a shared column

	written []string // names of the columns as written
	keys    []string // by column of the fold
	totals  []total
}

// Part is one of the rigs or flies side by side.
type Part struct {
	Label    string // as first written: "Rig 1", "AM"; "columns D to G" of repeated ones without a label
	Position string // of a fly, as a column of positions has it: "point", "1", "2"
}

// total is a column as written that sums up a column of the fold.
type total struct{ written, column int }

// Shared reports whether a column of the fold is shared by its parts.
func (f *Fold) Shared(column int) bool { return len(f.From[column]) == 1 }

// at is the column as written of a column of the fold in a part, -1 for none.
func (f *Fold) at(column, part int) int {
	if f.Shared(column) {
		return f.From[column][0]
	}
	return f.From[column][part]
}

// Written is the header, as written, of a column of the fold in a part: "Rig 2 knot";
// "" where the part has no such column. Positions of flies, which their headers tell, have their own name.
func (f *Fold) Written(column, part int) string {
	if f.Kind == Flies && f.keys[column] == "position" {
		return f.Names[column]
	}
	if at := f.at(column, part); at >= 0 {
		return f.written[at]
	}
	return ""
}

// Says is a sentence on what is unfolded.
func (f *Fold) Says() string {
	labels := make([]string, len(f.Parts))
	for i, p := range f.Parts {
		labels[i] = p.Label
		if p.Position != "" {
			labels[i] += " (" + position(p) + ")"
		}
	}
	if f.Kind == Flies {
		return fmt.Sprintf("Read as flies of one rig side by side: %s.", strings.Join(labels, ", "))
	}
	return fmt.Sprintf("Read as rigs of one day side by side, each a stint of its own: %s.", strings.Join(labels, ", "))
}

func position(p Part) string {
	if p.Position == "point" {
		return "point"
	}
	return "dropper " + p.Position
}

// parts finds the parts of a header. Without a fold and problems there are none.
func parts(names []name, u Understand) (*Fold, []Problem) {
	p := newParting(names, u)
	best, second := p.best(nil)
	switch {
	case best == nil:
		if problem := p.nested(); problem != nil {
			return nil, []Problem{*problem}
		}
		if best = p.blocks(); best == nil {
			return nil, nil
		}
		if problem := p.unnamedBlocks(best); problem != nil {
			return nil, []Problem{*problem}
		}
	case second != nil:
		return nil, []Problem{{Header: second.example(), What: fmt.Sprintf("is told for %s, and other columns for %s", second.list(), best.list()),
			Remedy: "part all columns in the same way, or write one row for each rig"}}
	}
	f, problems := p.fold(best)
	if best.weak && len(problems) > 0 {
		return nil, nil // names that may stay by themselves
	}
	return f, problems
}

// parting is a header while its parts are found.
type parting struct {
	u       Understand
	names   []name
	splits  [][]split
	text    []string // of each column as a whole
	key     []string
	leftOut []bool
}

func newParting(names []name, u Understand) *parting {
	p := &parting{u: u, names: names}
	for _, n := range names {
		text, key := n.whole(u)
		out := key == LeftOut
		var list []split
		if out {
			key = ""
		} else {
			list = n.splits(u)
		}
		p.text, p.key, p.leftOut, p.splits = append(p.text, text), append(p.key, key), append(p.leftOut, out), append(p.splits, list)
	}
	return p
}

// arrangement is the parts of a header by one family of labels.
type arrangement struct {
	family family
	parts  []*arranged // in order
	weak   bool        // they share but names of rigs or flies
}

// arranged is one part, its columns by what they tell.
type arranged struct {
	label
	text    string
	columns []member
}

// member is a column of a part.
type member struct {
	at   int // column as written
	text string
	key  string
}

// same is what columns of different parts have in common: what they mean, or how they are written.
func (m member) same() string {
	if m.key != "" {
		return m.key
	}
	return "“" + squeezed(m.text)
}

func (a *arrangement) size() (n int) {
	for _, part := range a.parts {
		n += len(part.columns)
	}
	return n
}

func (a *arrangement) list() string {
	labels := make([]string, len(a.parts))
	for i, part := range a.parts {
		labels[i] = "“" + part.text + "”"
	}
	return strings.Join(labels, ", ")
}

func (a *arrangement) example() string { return a.parts[0].columns[0].text }

// best returns the arrangement with the most columns, and another that the columns
// left over make. One that shares but names gives way.
func (p *parting) best(without map[int]bool) (best, second *arrangement) {
	for f := range families {
		a := p.arrange(f, without)
		if a != nil && (best == nil || best.weak && !a.weak || best.weak == a.weak && a.size() > best.size()) {
			best = a
		}
	}
	if best != nil && without == nil {
		taken := map[int]bool{}
		for _, part := range best.parts {
			for _, m := range part.columns {
				taken[m.at] = true
			}
		}
		if second, _ = p.best(taken); second != nil && second.weak {
			second = nil
		}
	}
	return best, second
}

// arrange groups the columns by labels of a family, nil if these are no parts.
func (p *parting) arrange(f family, without map[int]bool) *arrangement {
	a := &arrangement{family: f}
	for i, list := range p.splits {
		if without[i] {
			continue
		}
		if sp := choose(list, f); sp != nil {
			text := sp.text
			if f == byNumber || f == byLetter {
				text = p.names[i].shown() // a 1 alone says little
			}
			a.add(sp.label, text, member{i, sp.rest, sp.key})
		}
	}
	if f == byNumber || f == byRig {
		p.addUnnumbered(a, without)
	}
	slices.SortFunc(a.parts, func(x, y *arranged) int { return x.index - y.index })
	p.shorten(a)
	if !a.apart() {
		return nil
	}
	return a
}

// shorten takes off the last part what its label, written once, need not reach: trailing
// columns that no other part has.
func (p *parting) shorten(a *arrangement) {
	var last *arranged
	for _, part := range a.parts {
		if last == nil || part.columns[len(part.columns)-1].at > last.columns[len(last.columns)-1].at {
			last = part
		}
	}
	if last == nil {
		return
	}
	for n := len(last.columns) - 1; n > 0; n-- {
		m := last.columns[n]
		elsewhere := slices.ContainsFunc(a.parts, func(part *arranged) bool {
			return part != last && slices.ContainsFunc(part.columns, func(other member) bool { return other.same() == m.same() })
		})
		if elsewhere || !p.names[m.at].stretched {
			return
		}
		last.columns = last.columns[:n]
	}
}

// choose takes the best split of a family.
func choose(list []split, f family) (best *split) {
	for i := range list {
		if sp := &list[i]; sp.family == f && sp.better(best) {
			best = sp
		}
	}
	return best
}

func (a *arrangement) add(l label, text string, m member) {
	at := slices.IndexFunc(a.parts, func(p *arranged) bool { return p.index == l.index })
	if at < 0 {
		at = len(a.parts)
		a.parts = append(a.parts, &arranged{label: l, text: strings.Join(strings.Fields(text), " ")})
	}
	part := a.parts[at]
	part.explicit = part.explicit || l.explicit
	part.columns = append(part.columns, m)
}

// addUnnumbered takes columns for the first part where the labels begin with the second:
// Knot, Fish, Rig 2 knot, Rig 2 fish. Programs number equal headers so: Knot, Fish, Knot2, Fish2.
func (p *parting) addUnnumbered(a *arrangement, without map[int]bool) {
	if a.family == byRig && slices.ContainsFunc(a.parts, func(part *arranged) bool { return part.index == 1 }) {
		return
	}
	numbers := map[string]bool{}
	for _, part := range a.parts {
		for _, m := range part.columns {
			if m.key != "" {
				numbers[m.key] = true
			}
		}
	}
	var first []member
	for i, key := range p.key {
		if numbers[key] && !without[i] && choose(p.splits[i], a.family) == nil {
			first = append(first, member{i, p.text[i], key})
		}
	}
	if a.family == byNumber && len(first) != len(numbers) {
		return
	}
	for _, m := range first {
		a.add(label{family: a.family}, p.names[m.at].shown(), m)
	}
}

// apart drops parts that share nothing and reports whether the others are parts indeed:
// at least two share a column of what a rig, or a fly, has of its own.
func (a *arrangement) apart() bool {
	in := map[string]int{}
	for _, part := range a.parts {
		seen := map[string]bool{}
		for _, m := range part.columns {
			if !seen[m.same()] {
				seen[m.same()] = true
				in[m.same()]++
			}
		}
	}
	shares := func(part *arranged) bool {
		return slices.ContainsFunc(part.columns, func(m member) bool { return in[m.same()] > 1 })
	}
	known := func(part *arranged) bool {
		return slices.ContainsFunc(part.columns, func(m member) bool { return m.key != "" })
	}
	a.parts = slices.DeleteFunc(a.parts, func(part *arranged) bool {
		return !shares(part) && (a.family != byRig && a.family != byFly || !known(part))
	})
	own, strong, alone, named := 0, false, false, false
	for key, n := range in {
		if n < 2 {
			continue
		}
		is := natures[key]
		if key == "rig" || key == "angler" || is != 0 && !is.is(ofDay) {
			own++
		}
		switch a.family {
		case byFly:
			strong = strong || is.is(count|ofTag)
			named = named || key == "fly"
		case byRig:
			strong = strong || is.is(count|span|ofFly|clock)
			named = named || key == "rig"
		default:
			strong = strong || is.is(count|span|ofTag|clock)
			alone = alone || is.is(span|knot)
		}
	}
	if a.family == byNumber || a.family == byLetter {
		strong = strong && (own >= 2 || alone)
	}
	a.weak = named && !strong
	return len(a.parts) >= 2 && (strong || named)
}
