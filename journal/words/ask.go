package words

import (
	"maps"
	"slices"
	"strings"
	"time"

	"rigtally/journal/field"
)

// find is what a word of a section means, "" if it is not there.
func (t *Table) find(section, word string) string { return t.meaning[section][compared(section, word)] }

// all lists the ways to write something.
func (t *Table) all(section, meaning string) []string {
	var list []string
	for _, word := range t.written[section][meaning] {
		list = append(list, spellings(word)...)
	}
	return list
}

// Keys lists what headers can mean.
func (t *Table) Keys() []string { return slices.Sorted(maps.Keys(t.written[columns])) }

// Headings lists ways to write the header of a field, other than its key.
func (t *Table) Headings(key string) []string { return t.all(columns, key) }

// WithUnit lists headers, as Header gives them, that mean a field only beside a unit of its kind; "" is the unit alone.
func (t *Table) WithUnit(key string) []string {
	list := t.all(withUnit, key)
	for i, word := range list {
		list[i] = Header(word)
	}
	return list
}

// Bench is the table for sheets of bench pulls: some of their headers mean something else.
func (t *Table) Bench() *Table {
	b := &Table{written: maps.Clone(t.written), meaning: t.meaning}
	b.written[columns] = maps.Clone(t.written[columns])
	for key, list := range t.written[bench] {
		b.written[columns][key] = slices.Concat(t.written[columns][key], list)
	}
	return b
}

// Knots finds a knot by each of its spellings, as CompactKnot gives them.
func (t *Table) Knots() map[string]string { return maps.Clone(t.meaning[knots]) }

// Value is the word of a field's vocabulary that a word stands for, "" if there is none.
func (t *Table) Value(key, word string) string { return t.find(key, word) }

// Month is the number of a month by its name, a short form or the beginning of its name; 0: it is none.
func (t *Table) Month(word string) int {
	name := t.find(months, word)
	if key := field.Compact(word); name == "" && len(key) >= 3 {
		for spelling, month := range t.meaning[months] {
			switch {
			case !strings.HasPrefix(spelling, key):
			case name != "" && name != month:
				return 0
			default:
				name = month
			}
		}
	}
	for m := time.January; m <= time.December; m++ {
		if strings.EqualFold(m.String(), name) {
			return int(m)
		}
	}
	return 0
}

// InDate reports whether a word may stand in a date without telling anything: a weekday, of, th.
func (t *Table) InDate(word string) bool {
	key := field.Compact(word)
	if t.meaning[dates][key] != "" {
		return true
	}
	for spelling, kind := range t.meaning[dates] {
		if kind == "weekdays" && len(key) >= 2 && strings.HasPrefix(spelling, key) {
			return true
		}
	}
	return false
}

// Yes reports whether a word says that something was so.
func (t *Table) Yes(word string) bool { return t.find(answers, word) == "yes" }

// No reports whether a word says that something was not so.
func (t *Table) No(word string) bool { return t.find(answers, word) == "no" }

// None reports whether a word in place of a count says that there was none.
func (t *Table) None(word string) bool { return t.find(counts, word) == "none" }

// Unknown reports whether a word in place of a count says that no count was kept.
func (t *Table) Unknown(word string) bool { return t.find(counts, word) == "unknown" }

// Sums reports whether a cell begins with a word that marks sums.
func (t *Table) Sums(cell string) bool { return t.find(rows, firstWord(cell)) == "sums" }

// Means reports whether a cell begins with a word that marks means.
func (t *Table) Means(cell string) bool { return t.find(rows, firstWord(cell)) == "means" }

func firstWord(cell string) string {
	first, _, _ := strings.Cut(Header(cell), " ")
	return first
}

// Event is the count that a word for what happened adds to, as the key of its column; "fish" is one that
// may have been landed or lost. With ok, "" says that nothing happened.
func (t *Table) Event(word string) (key string, ok bool) {
	key, ok = t.meaning[events][compared(events, word)]
	if !ok { // a header of counts names what is counted
		key = t.find(columns, word)
		_, ok = t.written[events][key]
	}
	if !ok || key == "nothing" {
		key = ""
	}
	return key, ok
}

// Place is the place on the rig that a word names: point, dropper or rig; "" if none.
func (t *Table) Place(word string) string { return t.find(places, word) }
