package near

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

func TestNamesThatAreMeant(t *testing.T) {
	for _, pair := range []struct{ written, known, why string }{
		{"Jon Felt", "J. Felt", "an initial for the first name"},
		{"J Felt", "Jon Felt", "an initial without its point"},
		{"Maud P.", "Maud Perrin", "an initial for the last name"},
		{"Orin", "Orrin", "a letter left out"},
		{"Orrrin", "Orrin", "a letter too many"},
		{"Jon Fetl", "Jon Felt", "letters swapped"},
		{"John Felt", "Jon Felt", "another spelling"},
		{"Maude Perin", "Maud Perrin", "two slips in two words"},
		{"Felt, Jon", "Jon Felt", "the last name first"},
		{"FELT JON", "Jon Felt", "the last name first, in capitals"},
		{"Felt, J.", "Jon Felt", "the last name first, with an initial"},
		{"Tessel", "Tessel River", "a word missing"},
		{"The Tessel", "Tessel", "a word too many"},
		{"Tesel", "Tessel River", "a word missing and a letter"},
		{"Grune Lauter", "Grüne Lauter", "an accent left out"},
		{"Upper bend", "Upperbend", "two words for one"},
		{"Uperbend", "Upper Bend", "one word for two, and a letter missing"},
		{"Jon ODell", "Jon O’Dell", "a mark left out"},
		{"Rig2 long tag", "Rig 2 long tags", "a number that is the same"},
		{"Żółta Woda", "Zolta Woda", "a stroke and accents"},
		{"Перлин", "Перрлин", "letters that are not Latin"},
		{"Perfection loops", "Perfection loop", "a plural"},
	} {
		for _, p := range [][2]string{{pair.written, pair.known}, {pair.known, pair.written}} {
			if got, ok := Name(p[0], []string{"Somebody Else", p[1], "Quite Another"}); !ok || got != p[1] {
				t.Errorf("%s: %q among others with %q = %q, %v", pair.why, p[0], p[1], got, ok)
			}
		}
	}
}

func TestNamesThatAreNotMeant(t *testing.T) {
	for _, pair := range []struct{ written, other, why string }{
		{"Rig 1", "Rig 2", "numbers differ"},
		{"Rig1", "Rig2", "numbers differ without a space"},
		{"Long tags 12", "Long tags 13", "numbers differ in a long name"},
		{"Beat", "Beat 3", "a number more"},
		{"Pool II", "Pool III", "Roman numbers differ"},
		{"Anna B.", "Anna C.", "initials differ"},
		{"Setup A", "Setup B", "letters for numbers"},
		{"J. Felt", "M. Felt", "first letters differ"},
		{"J. F.", "Jon Felt", "nothing but initials"},
		{"Jon", "Jan", "three letters"},
		{"Jon", "Jon Felt", "three letters and a word"},
		{"Al", "All", "two letters"},
		{"North Fork", "South Fork", "other words"},
		{"East Branch", "West Branch", "other words of four letters"},
		{"Upper Tessel", "Lower Tessel", "other words of five letters"},
		{"Tessel River", "Orrin River", "one word alone is the same"},
		{"Jon Felt", "Jon Perrin", "another last name"},
		{"Maud Perrin", "Jon Felt", "everything"},
		{"Tessel", "Tessel River North", "two words more"},
		{"Jon Felt", "jon felt", "case alone: it is the same name"},
		{"", "Jon Felt", "nothing"},
		{"Jon Felt", "", "nothing known"},
		{"?!", "…", "no letters"},
	} {
		for _, p := range [][2]string{{pair.written, pair.other}, {pair.other, pair.written}} {
			if got, ok := Name(p[0], []string{p[1]}); ok {
				t.Errorf("%s: %q was taken for %q", pair.why, p[0], got)
			}
		}
	}
}

// TestNearest takes the nearest of several, and the first of equals.
func TestNearest(t *testing.T) {
	for _, c := range []struct {
		name, want string
		among      []string
	}{
		{"Maud Perin", "Maud Perrin", []string{"Maud P.", "Maud Perrin", "Maud Perris"}},
		{"Anna", "Anna B.", []string{"Anna B.", "Anna C."}},
		{"Jon Felt", "", []string{"J. Felt", "JON FELT"}},
	} {
		if got, ok := Name(c.name, c.among); got != c.want || ok != (c.want != "") {
			t.Errorf("%q among %q = %q, %v; want %q", c.name, c.among, got, ok, c.want)
		}
	}
}

// TestSlips holds the count against the examples of Wikipedia's articles on the
// Levenshtein and the Damerau–Levenshtein distance: "ca" and "abc" tell the full
// distance (2) from its restricted form (3).
func TestSlips(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"ca", "abc", 2}, {"kitten", "sitting", 3}, {"sunday", "saturday", 3}, {"abcd", "acbd", 1}, {"", "abc", 3}, {"żaba", "zaba", 1}} {
		if got := slips(c.a, c.b); got != c.want {
			t.Errorf("%q to %q is %d slips, want %d", c.a, c.b, got, c.want)
		}
	}
}

// TestManyNames keeps hundreds of new names among hundreds known from taking long,
// and repeated words from being tried in every order.
func TestManyNames(t *testing.T) {
	var known []string
	for i := range 600 {
		known = append(known, fmt.Sprintf("%c%cona %crrin", 'A'+i%26, 'a'+i/26%26, 'A'+i/7%26))
	}
	begun := time.Now()
	among := Of(append(known, strings.Repeat("aaaa ", 40)))
	for _, name := range known {
		if _, ok := among.Near(name); ok {
			t.Fatalf("%q is known and was taken for another", name)
		}
	}
	for range 100 {
		among.Near("Quillon Verbeek")
	}
	among.Near(strings.Repeat("aaaa ", 40) + "b")
	among.Near(strings.Repeat("aaab ", mostWords))
	if took := time.Since(begun); took > 5*time.Second {
		t.Errorf("took %v", took)
	}
}
