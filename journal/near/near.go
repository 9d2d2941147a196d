// Package near finds the name that was probably meant by one that nobody knows: a
// slip of the fingers, an initial, another order, a word more or less. It only
// ever suggests; whoever asks decides.
package near

import (
	"slices"
	"strings"
	"unicode"

	"github.com/hbollon/go-edlib"

	"rigtally/journal/field"
)

// Name returns the name among those known that was probably meant, and whether
// there is one. A name that is among them, case aside, means itself: it has none.
func Name(name string, among []string) (string, bool) {
	return Of(among).Near(name)
}

// Names are names prepared for many questions.
type Names struct{ names []parts }

// Of prepares names. Of those equally near, the first is meant.
func Of(among []string) *Names {
	n := &Names{names: make([]parts, len(among))}
	for i, name := range among {
		n.names[i] = take(name)
	}
	return n
}

// Near is Name for names prepared.
func (n *Names) Near(name string) (string, bool) {
	wanted := take(name)
	best, least := "", far
	for i := range n.names {
		known := &n.names[i]
		if strings.EqualFold(strings.TrimSpace(name), strings.TrimSpace(known.written)) {
			return "", false
		}
		if d := wanted.distance(known); d < least {
			best, least = known.written, d
		}
	}
	return best, least < far
}

// parts is a name taken apart.
type parts struct {
	written string
	compact string   // letters and digits alone, without accents and case
	words   []string // runs of letters
	numbers []string // runs of digits, and Roman numerals
	letters int      // in words
}

func take(name string) parts {
	p := parts{written: name, compact: field.Compact(name)}
	var kind func(rune) bool
	start := -1
	plain := field.Plain(name)
	end := func(at int) {
		if start < 0 {
			return
		}
		run := plain[start:at]
		switch {
		case unicode.IsDigit(rune(run[0])) || len(run) > 1 && strings.Trim(run, "ivx") == "":
			p.numbers = append(p.numbers, run)
		default:
			p.words = append(p.words, run)
			p.letters += len([]rune(run))
		}
		start = -1
	}
	for at, r := range plain {
		if start >= 0 && kind(r) || r == '\'' || r == '’' { // O'Dell is one word
			continue
		}
		end(at)
		switch {
		case unicode.IsLetter(r):
			kind, start = unicode.IsLetter, at
		case unicode.IsDigit(r):
			kind, start = unicode.IsDigit, at
		}
	}
	end(len(plain))
	return p
}

// far is the distance of names of which one does not mean the other.
const far = 1000

const (
	initialCosts = 2 // more than a wrong letter
	wordCosts    = 3 // a word more or less
	mostWords    = 6 // of names whose words are looked for in any order
)

// distance counts the letters that are wrong, and what else differs as worth so many.
func (p *parts) distance(o *parts) int {
	fewest := min(p.letters, o.letters)
	if fewest <= 3 || !slices.Equal(p.numbers, o.numbers) {
		return far
	}
	if p.compact == o.compact {
		return 0
	}
	short, long := p.words, o.words
	if len(short) > len(long) {
		short, long = long, short
	}
	switch extra := len(long) - len(short); {
	case extra > 1 || len(long) > mostWords:
		return far
	case extra == 1:
		// The words may only be written as one: "Upper bend", "Uperbend".
		if d := apart(strings.Join(short, ""), strings.Join(long, "")); d <= 1 {
			return d
		}
	}
	m := matching{long: long, used: make([]bool, len(long)), slips: max(1, fewest/5)}
	d := m.match(short, 0, false)
	if d >= far {
		return far
	}
	return d + wordCosts*(len(long)-len(short))
}

// matching looks for each word of the shorter name in the longer one.
type matching struct {
	long  []string
	used  []bool
	slips int // wrong letters that all words together may have
}

// match returns the least that the words differ by. One pair at least has to be
// words, not initials.
func (m *matching) match(short []string, slipped int, whole bool) int {
	if len(short) == 0 {
		if !whole {
			return far
		}
		return 0
	}
	least := far
	for i, word := range m.long {
		if m.used[i] {
			continue
		}
		m.used[i] = true
		a, b := short[0], word
		if initial(a, b) || initial(b, a) {
			least = min(least, initialCosts+m.match(short[1:], slipped, whole))
		} else if d := apart(a, b); slipped+d <= m.slips {
			least = min(least, d+m.match(short[1:], slipped+d, whole || len([]rune(a)) > 1))
		}
		m.used[i] = false
	}
	return least
}

// initial reports whether a is the first letter of b, which has more.
func initial(a, b string) bool {
	return len([]rune(a)) == 1 && len(b) > len(a) && strings.HasPrefix(b, a)
}

// allowed is how many letters of a word may be wrong.
func allowed(letters int) int {
	switch {
	case letters < 3:
		return 0
	case letters < 8:
		return 1
	default:
		return 2
	}
}

// apart counts the slips between two words; too many are far.
func apart(a, b string) int {
	if a == b {
		return 0
	}
	m, n := len([]rune(a)), len([]rune(b))
	most := allowed(min(m, n))
	if max(m, n)-min(m, n) > most {
		return far
	}
	if d := slips(a, b); d <= most {
		return d
	}
	return far
}

// slips counts the letters to add, drop, change or swap with their neighbor.
func slips(a, b string) int {
	return edlib.DamerauLevenshteinDistance(a, b)
}
