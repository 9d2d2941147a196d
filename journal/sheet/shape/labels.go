package shape

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"rigtally/journal/field"
)

// name is a column's name as written: in one row, or in two of which the upper one
// holds a label over several columns.
type name struct {
	upper, lower string
	stretched    bool // the upper one stands further to the left, and may not reach so far
}

const between = "\n" // the rows of a name

func (n name) full() string {
	return strings.Trim(strings.TrimSpace(n.upper)+between+strings.TrimSpace(n.lower), between)
}

// shown is the name on one line.
func (n name) shown() string { return strings.Join(strings.Fields(n.full()), " ") }

// whole finds what a name means as a whole: with the label over it, else without.
func (n name) whole(u Understand) (text, key string) {
	for _, text := range []string{n.shown(), strings.TrimSpace(n.lower)} {
		if key := u(text); text != "" && key != "" {
			return text, key
		}
	}
	return cmp.Or(strings.TrimSpace(n.lower), n.shown()), ""
}

// family is a way to label parts.
type family int

const (
	byRig    family = iota // Rig 1, Setup A
	byDay                  // AM, morning
	byFly                  // top dropper, point
	byNumber               // Knot 1
	byLetter               // Knot A
	families
)

// label tells the part that a column belongs to.
type label struct {
	family   family
	index    int  // parts follow each other by it
	explicit bool // of a fly, that it names a dropper
}

// numbered is where the indexes of numbered droppers begin; those below are levels.
const numbered = 100

// split is a name that a label was taken off.
type split struct {
	label
	text string // of the label, as written
	rest string // what remains
	key  string // and means; "" where that isn't understood
	size int    // of the label, in words
	bare bool   // nothing remains, so that rest is what such a label means by itself
}

// better reports whether a split tells more than another of its family: one whose
// remainder is written and understood, with the longest label.
func (s *split) better(than *split) bool {
	rank := func(s *split) int {
		switch {
		case s.key == "":
			return 0
		case s.bare:
			return 1
		}
		return 2
	}
	return than == nil || rank(s) > rank(than) || rank(s) == rank(than) && s.size > than.size
}

// token is a word or number of a name.
type token struct {
	text       string // in small letters without accents
	start, end int
}

// tokens cuts a name into words and numbers; "Rig1" is a word and a number, "1st" a number.
func tokens(s string) []token {
	var list []token
	kind := func(r rune) int {
		switch {
		case unicode.IsDigit(r):
			return 2
		case unicode.IsLetter(r) || unicode.IsMark(r):
			return 1
		}
		return 0
	}
	last := 0
	for i, r := range s {
		k := kind(r)
		if k != 0 && k == last {
			list[len(list)-1].end = i + len(string(r))
		} else if k != 0 {
			list = append(list, token{start: i, end: i + len(string(r))})
		}
		last = k
	}
	for i := range list {
		list[i].text = field.Plain(s[list[i].start:list[i].end])
	}
	for i := 0; i+1 < len(list); i++ {
		ending := slices.Contains([]string{"st", "nd", "rd", "th", "er", "ere", "re", "eme", "ª", "º"}, list[i+1].text)
		if ending && list[i].end == list[i+1].start && unicode.IsDigit(rune(list[i].text[0])) {
			list[i].end = list[i+1].end
			list = slices.Delete(list, i+1, i+2)
		}
	}
	return list
}

// labels reads words as labels, of every family that they fit.
func labels(list []token) []label {
	v := labelWords()
	parts := make([]string, len(list))
	for i, t := range list {
		parts[i] = t.text
	}
	if len(parts) > 1 && v.outing[parts[len(parts)-1]] { // morning session
		parts = parts[:len(parts)-1]
	}
	phrase := strings.Join(parts, " ")
	var all []label
	if n := v.day[phrase]; n > 0 {
		all = append(all, label{family: byDay, index: n})
	}
	if n := v.fly[phrase]; n > 0 {
		all = append(all, label{family: byFly, index: n, explicit: v.explicit[phrase]})
	}
	switch len(parts) {
	case 0:
		return nil
	case 1:
		if n := v.ordinal[phrase]; n > 0 {
			all = append(all, label{family: byNumber, index: n})
		}
		if n := letter(phrase); n > 0 {
			all = append(all, label{family: byLetter, index: n})
		}
		return all
	}
	first, last := parts[0], parts[len(parts)-1]
	head, tail := parts[:len(parts)-1], strings.Join(parts[1:], " ")
	if len(head) > 1 && v.sign[head[len(head)-1]] {
		head = head[:len(head)-1] // Rig no. 1
	}
	before := strings.Join(head, " ")
	if n := cmp.Or(v.ordinal[last], letter(last)); n > 0 && v.rig[before] {
		all = append(all, label{family: byRig, index: n})
	}
	if n := v.ordinal[first]; n > 0 && v.rig[tail] {
		all = append(all, label{family: byRig, index: n})
	}
	if n := v.ordinal[last]; n > 0 && v.fly[before] == onlyDropper {
		all = append(all, label{family: byFly, index: numbered + n, explicit: true})
	}
	if n := v.ordinal[first]; n > 0 && v.fly[tail] == onlyDropper {
		all = append(all, label{family: byFly, index: numbered + n, explicit: true})
	}
	return all
}

// letter counts a as 1, up to f.
func letter(s string) int {
	if len(s) == 1 && s[0] >= 'a' && s[0] <= 'f' {
		return int(s[0]-'a') + 1
	}
	return 0
}

// splits takes labels off a name, at its ends and at those of its parentheses and rows.
func (n name) splits(u Understand) []split {
	const longest = 5
	s := n.full()
	list := tokens(s)
	edge := func(from, to int) bool { return strings.ContainsAny(s[from:to], "()[],:;/|–—-_.+"+between) }
	var all []split
	for i := range list {
		opens := i == 0 || edge(list[i-1].end, list[i].start)
		for j := i; j < min(len(list), i+longest); j++ {
			closes := j == len(list)-1 || edge(list[j].end, list[j+1].start)
			if !opens && !closes {
				continue
			}
			start, end := list[i].start, list[j].end
			for _, l := range labels(list[i : j+1]) {
				sp := split{label: l, text: s[start:end], size: j - i + 1}
				sp.rest, sp.key = remainder(s, start, end, u)
				if sp.bare = sp.rest == ""; sp.bare {
					sp.rest, sp.key = alone(l.family, u)
				}
				if l.family == byFly && sp.key == "position" {
					continue // top dropper: not the top one's position
				}
				if sp.rest != "" && sp.key != LeftOut {
					all = append(all, sp)
				}
			}
		}
	}
	return all
}

// alone is what a label means that stands by itself: a rig's name, or that of a fly.
func alone(f family, u Understand) (rest, key string) {
	switch f {
	case byRig:
		rest = "rig"
	case byFly:
		rest = "fly"
	default:
		return "", ""
	}
	return rest, u(rest)
}

// remainder is what remains of a name without its bytes from start to end, and what
// that means: as it stands, without words that led to the label, or the lower row's alone.
func remainder(s string, start, end int, u Understand) (rest, key string) {
	left, right := s[:start], s[end:]
	rest = tidy(left + " " + right)
	tries := []string{rest, tidy(unlinked(left) + " " + right)}
	if at := strings.LastIndex(s, between); at >= end {
		tries = append(tries, tidy(s[at:]))
	}
	for _, try := range tries {
		if key, ok := u.known(try); ok && try != "" {
			return try, key
		}
	}
	return rest, u(rest)
}

// unlinked takes off the words at the end that lead on: "tangles with the".
func unlinked(s string) string {
	list := tokens(s)
	for len(list) > 1 && labelWords().of[list[len(list)-1].text] {
		s, list = s[:list[len(list)-1].start], list[:len(list)-1]
	}
	return s
}

// tidy takes off what a label leaves behind: empty parentheses and marks at the ends.
func tidy(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	for _, empty := range []string{"()", "( )", "[]", "[ ]"} {
		s = strings.ReplaceAll(s, empty, " ")
	}
	s = strings.NewReplacer("( ", "(", " )", ")", "(, ", "(", ", )", ")").Replace(strings.Join(strings.Fields(s), " "))
	return strings.Trim(s, " -–—:/_.,;#|+'")
}
