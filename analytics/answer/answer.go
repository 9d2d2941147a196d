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

// Numbers are those of a list that are known.
func Numbers(list ...float64) []*float64 { return Each(list, Known) }

// If is a value where it exists, as Known has it.
func If(exists bool, v float64) *float64 {
	if !exists {
		return nil
	}
	return Known(v)
}

// List is a list that JSON writes as one, though it be empty.
func List[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// Each is what is written of every one of a list.
func Each[T, U any](list []T, write func(T) U) []U {
	out := make([]U, len(list))
	for i, t := range list {
		out[i] = write(t)
	}
	return out
}

// Keys are those of factors.
func Keys(factors []journal.Factor) []string {
	return Each(factors, func(f journal.Factor) string { return f.Key })
}

// Levels are levels as values for JSON, by the keys of their factors.
func Levels(factors []journal.Factor, levels []journal.Level) map[string]any {
	out := map[string]any{}
	for i, f := range factors {
		out[f.Key] = LevelValue(levels[i])
	}
	return out
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
