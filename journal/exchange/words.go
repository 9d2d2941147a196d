package exchange

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"rigtally/journal"
	catalogue "rigtally/journal/field"
)

// plain gives lower case without accents: Gewässer → gewasser.
func plain(s string) string {
	ascii := true
	for i := 0; i < len(s) && ascii; i++ {
		ascii = s[i] < 0x80
	}
	if ascii {
		return strings.ToLower(s)
	}
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.ToLower(s)) {
		switch {
		case unicode.Is(unicode.Mn, r):
		case r == 'ß':
			b.WriteString("ss")
		case r == 'ø':
			b.WriteByte('o')
		case r == 'æ':
			b.WriteString("ae")
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// compact keeps the letters and digits of a word only: "Fig. 8" → fig8.
func compact(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, plain(s))
}

// dictionary finds a word of a vocabulary by any of its spellings.
func dictionary(words []catalogue.Word) map[string]string {
	d := make(map[string]string, 4*len(words))
	for _, w := range words {
		d[compact(w.Word)] = w.Word
		for s := range strings.SplitSeq(w.Also, ",") {
			d[compact(s)] = w.Word
		}
	}
	delete(d, "")
	return d
}

// setJunction reads a knot; one that is not known is kept under its own name.
func setJunction(c *column, r *row, cell string) error {
	type knot struct {
		junction journal.Junction
		name     string
	}
	k, err := cached(c, cell, func() (knot, error) {
		name := cleanText(cell)
		if own, ok := strings.CutPrefix(plain(name), otherPrefix); ok && strings.TrimSpace(own) != "" {
			name = strings.TrimSpace(name[len(otherPrefix):])
		} else if j, ok := c.junctions[compactKnot(name)]; ok {
			return knot{junction: j}, nil
		} else if compact(name) == string(journal.JunctionOther) {
			return knot{}, &problem{what: "does not say which", remedy: "write the junction's name itself"}
		}
		if len(name) > maxName {
			return knot{}, tooLong(maxName)
		}
		c.unknownWords[name]++
		return knot{journal.JunctionOther, name}, nil
	})
	r.fly.Junction, r.fly.JunctionName = k.junction, k.name
	return err
}

const otherPrefix = "other:"

func compactKnot(s string) string {
	s = compact(s)
	for _, end := range []string{"knots", "knot"} {
		if short := strings.TrimSuffix(s, end); short != "" {
			s = short
		}
	}
	return s
}

// junctionWords finds junctions by their many spellings.
func junctionWords() map[string]journal.Junction {
	d := map[string]journal.Junction{}
	for spelling, word := range dictionary(catalogue.By(journal.FlyFields(), "junction").Words) {
		d[spelling] = journal.Junction(word)
	}
	delete(d, string(journal.JunctionOther))
	return d
}
