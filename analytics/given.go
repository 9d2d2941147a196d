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

// NoGiven asks for a comparison with nothing given.
const NoGiven = journal.NoGiven

// usualGivens are what every comparison is corrected for unless a person names others: who
// fished, and where.
var usualGivens = []string{"angler", "water"}

// GivensFor reads what a comparison of some factors is to be corrected for. Nothing asks for the
// usual ones, of which those asked about are left out, and "none" for none.
func GivensFor(texts []string, asked ...journal.Factor) (list []Given, usual bool, err error) {
	about := func(key string) bool {
		return slices.ContainsFunc(asked, func(f journal.Factor) bool { return f.Key == key })
	}
	switch {
	case len(texts) == 0:
		for _, key := range usualGivens {
			if !about(key) {
				f, err := journal.FactorByKey(key)
				if err != nil {
					return nil, true, err
				}
				list = append(list, Given{Factor: f})
			}
		}
		return list, true, nil
	case len(texts) == 1 && strings.TrimSpace(texts[0]) == NoGiven:
		return nil, false, nil
	}
	if list, err = Givens(texts); err != nil {
		return nil, false, err
	}
	for _, g := range list {
		if about(g.Factor.Key) {
			return nil, false, journal.Invalidf("%s is what is asked about and can't be given too; leave it out of what is given", strings.ToLower(g.Factor.Title))
		}
	}
	return list, false, nil
}

// factorsOf are the factors of what is given.
func factorsOf(list []Given) []journal.Factor {
	var factors []journal.Factor
	for _, g := range list {
		factors = append(factors, g.Factor)
	}
	return factors
}

// told leaves out of the usual givens those that are the same everywhere.
func told(list []Given, columns []covariate, usual bool) ([]Given, []covariate) {
	if !usual {
		return list, columns
	}
	var givens []Given
	var kept []covariate
	for i, c := range columns {
		if c.columns > 0 {
			givens, kept = append(givens, list[i]), append(kept, c)
		}
	}
	return givens, kept
}

// curved reports whether a given enters as a curve, where it has values enough.
func (g Given) curved() bool {
	return !g.Linear && g.Factor.Quantity != journal.Words && g.Factor.Quantity != journal.Number
}

func (g Given) categories() bool { return !g.Linear && !g.curved() }
