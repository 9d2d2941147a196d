// Package answer holds the shapes of numbers and levels that every answer is written with,
// as JSON and as CSV.
package analytics

import (
	"math"
	"strconv"

	"rigtally/journal"
)

// known returns nil for what has no finite value.
func known(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// LevelValue returns a level as a value for JSON: a word, a number in the
// storage unit, or an object with the ends of a band.
func LevelValue(l journal.Level) any {
	switch l.Kind {
	case journal.NumberLevel:
		return l.Number
	case journal.BandLevel:
		return map[string]float64{"from": l.Number, "to": l.Upper}
	case journal.BelowLevel:
		return map[string]float64{"to": l.Upper}
	case journal.AboveLevel:
		return map[string]float64{"from": l.Number}
	}
	return l.Word
}

// decimal is a number in full precision, empty when there is none.
func decimal(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

// levelTexts are levels as the cells of a row.
func levelTexts(levels []journal.Level) []string {
	var texts []string
	for _, l := range levels {
		texts = append(texts, levelText(l))
	}
	return texts
}

// levelText is a level in storage units; a band is written FROM..<TO.
func levelText(l journal.Level) string {
	switch l.Kind {
	case journal.NumberLevel:
		return decimal(&l.Number)
	case journal.BandLevel:
		return decimal(&l.Number) + "..<" + decimal(&l.Upper)
	case journal.BelowLevel:
		return "..<" + decimal(&l.Upper)
	case journal.AboveLevel:
		return decimal(&l.Number) + ".."
	}
	return l.Word
}
