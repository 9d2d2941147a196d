// Package words is the one table of the words that people write in spreadsheets: headers, knots and other
// words of the trade, months, yes and no, nothing and not counted, sums, events. It is
// held as TOML, in the shape in which rigtally.toml adds to it, in English, German, French, Spanish,
// Italian, Polish, Czech, Swedish, Norwegian and Finnish, with a few words of their neighbors.
//
// The words of the trade are common practice, written down from memory, without a source. A word
// that may mean two things (French nœuds are knots, and tangles) stands for neither.
package words

import (
	"embed"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/pelletier/go-toml/v2"

	"rigtally/journal/field"
)

// Extension is what rigtally.toml adds: by section and by what is meant, the words for it.
//
//	[words.columns]
//	angler = ["Member"]
type Extension map[string]map[string][]string

// The sections. Besides these, a vocabulary of the catalogue has one of its field's key.
const (
	columns  = "columns"   // headers, by the key of the field
	withUnit = "with_unit" // headers that mean a field only beside a unit of its kind
	bench    = "bench"     // headers of bench pulls, besides those of columns
	knots    = "knots"     // by the journal's word
	months   = "months"    // by their English names
	dates    = "dates"     // weekdays, and what else stands in a date without telling anything
	answers  = "answers"   // yes, no
	counts   = "counts"    // none, unknown
	rows     = "rows"      // sums, means
	events   = "events"    // by the key of the count; nothing: that nothing happened
	places   = "places"    // point, dropper, rig
)

// Table finds what words mean. It never changes.
type Table struct {
	written Extension                    // as they stand in the files
	meaning map[string]map[string]string // by section and the word as it is compared
}

//go:embed *.toml
var files embed.FS

// Built is the table that comes with the program.
func Built() *Table { return built() }

var built = sync.OnceValue(func() *Table {
	t := &Table{written: Extension{}, meaning: map[string]map[string]string{}}
	if err := t.load(); err != nil { // a test reads the same files
		panic(err)
	}
	return t
})

func (t *Table) load() error {
	names, err := fs.Glob(files, "*.toml")
	if err != nil {
		return err
	}
	for _, name := range names {
		text, err := files.ReadFile(name)
		if err != nil {
			return err
		}
		more, err := Parse(text)
		if err == nil {
			err = t.add(more)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	return nil
}

// Parse reads the section [words] of a TOML file.
func Parse(text []byte) (Extension, error) {
	var file struct{ Words Extension }
	if err := toml.Unmarshal(text, &file); err != nil {
		return nil, fmt.Errorf("read the words: %w", err)
	}
	return file.Words, nil
}

// With is the table with more words. One that means something else already, and
// a section or meaning that there is not, are refused.
func (t *Table) With(more Extension) (*Table, error) {
	if len(more) == 0 {
		return t, nil
	}
	for _, section := range slices.Sorted(maps.Keys(more)) {
		known, ok := t.written[section]
		if !ok {
			return nil, fmt.Errorf("[words.%s] is not a section of words; they are: %s", section, strings.Join(slices.Sorted(maps.Keys(t.written)), ", "))
		}
		for meaning := range more[section] {
			if _, ok := known[meaning]; !ok {
				return nil, fmt.Errorf("[words.%s] has %q, which rigtally does not know; write one of: %s", section, meaning, strings.Join(slices.Sorted(maps.Keys(known)), ", "))
			}
		}
	}
	wider := &Table{written: Extension{}, meaning: map[string]map[string]string{}}
	for section, known := range t.written {
		wider.written[section] = maps.Clone(known)
		wider.meaning[section] = maps.Clone(t.meaning[section])
	}
	if err := wider.add(more); err != nil {
		return nil, err
	}
	return wider, nil
}

// add takes words into a table that nobody else has yet.
func (t *Table) add(more Extension) error {
	for _, section := range slices.Sorted(maps.Keys(more)) {
		if t.written[section] == nil {
			t.written[section], t.meaning[section] = map[string][]string{}, map[string]string{}
		}
		for _, meaning := range slices.Sorted(maps.Keys(more[section])) {
			list := more[section][meaning]
			t.written[section][meaning] = slices.Concat(t.written[section][meaning], list)
			if section == columns || section == knots || vocabulary(section) { // it is a word for itself
				list = append(list[:len(list):len(list)], meaning)
			}
			for _, word := range list {
				if err := t.learn(section, meaning, word); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// learn notes what a word means.
func (t *Table) learn(section, meaning, word string) error {
	if section == withUnit { // "water" beside °C and beside m³/s: the unit tells
		return nil
	}
	for _, spelling := range spellings(word) {
		key := compared(section, spelling)
		other, known := t.meaning[section][key]
		switch {
		case key == "":
			return fmt.Errorf("[words.%s] %s has %q, in which there is no letter or digit; write a word", section, meaning, word)
		case known && other != meaning:
			return fmt.Errorf("[words.%s] %s has %q, which already means %s; leave it out, or write a longer word", section, meaning, word, other)
		}
		t.meaning[section][key] = meaning
	}
	return nil
}

// vocabulary reports whether a section is one of a field's own words.
func vocabulary(section string) bool {
	return !slices.Contains([]string{columns, withUnit, bench, knots, months, dates, answers, counts, rows, events, places}, section)
}

// compared is a word as it is compared with others of its section.
func compared(section, word string) string {
	switch section {
	case columns, bench:
		return strings.ReplaceAll(Header(word), " ", "")
	case knots:
		return CompactKnot(word)
	}
	return field.Compact(word)
}

// spellings are a word and, for letters that many keyboards have not, the way it is written with others.
func spellings(word string) []string {
	if other := digraphs.Replace(word); other != word {
		return []string{word, other}
	}
	return []string{word}
}

var digraphs = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "å", "aa", "ø", "oe", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "Å", "Aa", "Ø", "Oe")

// Header is a header as headers are compared: in small letters without accents, with single
// blanks and no punctuation but for what units are written with.
func Header(s string) string {
	return strings.Join(strings.FieldsFunc(field.Plain(s), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("°/³^*\"", r)
	}), " ")
}

// CompactKnot is the letters of a knot's name, without the word knot.
func CompactKnot(s string) string {
	s = field.Compact(s)
	for _, end := range []string{"knots", "knot"} {
		if short := strings.TrimSuffix(s, end); short != "" {
			s = short
		}
	}
	return s
}
