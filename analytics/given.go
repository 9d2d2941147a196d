package analytics

import (
	"slices"
	"strings"

	"rigtally/journal"
)

// Given is a factor whose differences are taken out of a comparison.
type Given struct {
	Factor journal.Factor
	Linear bool // a number enters as a straight line, not as a curve
}

// String is the given as it is asked for.
func (g Given) String() string {
	if g.Linear {
		return g.Factor.Key + journal.LinearGiven
	}
	return g.Factor.Key
}

// MarshalText writes the given as it is asked for.
func (g Given) MarshalText() ([]byte, error) { return []byte(g.String()), nil }

// Givens reads what a person asks to correct for. A factor is a category when
// its levels are words, months, seasons or sizes, else a curve; ":linear" makes a
// straight line of any number.
func Givens(texts []string) ([]Given, error) {
	var list []Given
	for _, text := range texts {
		key, form, formed := strings.Cut(text, ":")
		f, err := journal.FactorByKey(strings.TrimSpace(key))
		if err != nil {
			return nil, err
		}
		g := Given{Factor: f, Linear: formed}
		switch {
		case formed && strings.TrimSpace(form) != strings.TrimPrefix(journal.LinearGiven, ":"):
			return nil, journal.Invalidf("given %q is not understood; write %q, or %q for a straight line", text, "tag-length", "tag-length"+journal.LinearGiven)
		case formed && f.Quantity == journal.Words:
			return nil, journal.Invalidf("%s is no number and can't be a straight line; write %q alone", strings.ToLower(f.Title), f.Key)
		case slices.ContainsFunc(list, func(other Given) bool { return other.Factor.Key == f.Key }):
			return nil, journal.Invalidf("%s is given twice; name it once", strings.ToLower(f.Title))
		}
		list = append(list, g)
	}
	return list, nil
}

// give puts the givens into a question that asks about some factors already.
func give(q *journal.Question, list []Given, asked ...journal.Factor) error {
	for _, g := range list {
		for _, f := range asked {
			if f.Key == g.Factor.Key {
				return journal.Invalidf("%s is what is asked about and can't be given too; leave it out of what is given", strings.ToLower(f.Title))
			}
		}
		q.Given = append(q.Given, g.Factor)
	}
	return nil
}

// curved reports whether a given enters as a curve, where it has values enough.
func (g Given) curved() bool {
	return !g.Linear && g.Factor.Quantity != journal.Words && g.Factor.Quantity != journal.Number
}

func (g Given) categories() bool { return !g.Linear && !g.curved() }
