// Package answer holds the shapes of numbers and levels that every answer is written with,
// as JSON and as CSV.
package answer

import (
	"math"
	"strconv"

	"rigtally/journal"
)

// Known returns nil for what has no finite value.
func Known(v float64) *float64 {
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

// Decimal is a number in full precision, empty when there is none.
func Decimal(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}
