// Package prose says answers in words: labels, sentences, notes and text tables
// for people, shared by the terminal and the pages.
package prose

import (
	"math"
	"strconv"
	"strings"
	"time"

	"rigtally/internal/units"
	"rigtally/journal"
)

// Level names a level of a factor in the person's units, with the unit.
func Level(f journal.Factor, l journal.Level, sys units.System) string {
	switch l.Kind {
	case journal.NumberLevel:
		return value(f, l.Number, sys)
	case journal.BelowLevel:
		return "below " + value(f, l.Upper, sys)
	case journal.AboveLevel:
		return value(f, l.Number, sys) + " or more"
	case journal.BandLevel:
		return span(value(f, l.Number, sys), value(f, l.Upper, sys))
	}
	return l.Word
}

// Levels names a group's levels together.
func Levels(by []journal.By, levels []journal.Level, sys units.System) string {
	parts := make([]string, len(levels))
	for i, l := range levels {
		parts[i] = Level(by[i].Factor, l, sys)
	}
	return strings.Join(parts, ", ")
}

// value prints a number of a continuous factor.
func value(f journal.Factor, v float64, sys units.System) string {
	switch f.Quantity {
	case journal.Length:
		return units.FormatLength(v, sys)
	case journal.Diameter:
		return units.FormatTippet(v)
	case journal.Flow:
		return units.Format(units.Flow, v, sys)
	case journal.Temperature:
		return units.Format(units.Temperature, v, sys)
	}
	switch {
	case f.Key == "month" && v >= 1 && v <= 12:
		return time.Month(int(v)).String()
	case f.Key == "hook-size":
		return "size " + strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// span joins two printed quantities, naming a shared unit once.
func span(low, high string) string {
	if strings.HasSuffix(high, "%") {
		low = strings.TrimSuffix(low, "%")
	}
	if i := strings.LastIndex(low, " "); i >= 0 && strings.HasSuffix(high, low[i:]) {
		low = low[:i]
	}
	return low + "–" + high
}

// Condition says a filter in words.
func Condition(c journal.Condition, sys units.System) string {
	title := strings.ToLower(c.Factor.Title)
	switch {
	case c.Factor.Quantity == journal.Words:
		return title + " " + c.Word
	case math.IsInf(c.Low, -1) && math.IsInf(c.High, 1):
		return title + " noted"
	case math.IsInf(c.Low, -1):
		return title + " up to " + value(c.Factor, c.High, sys)
	case math.IsInf(c.High, 1):
		return title + " from " + value(c.Factor, c.Low, sys)
	case c.Low == c.High:
		return title + " " + value(c.Factor, c.Low, sys)
	}
	return title + " " + span(value(c.Factor, c.Low, sys), value(c.Factor, c.High, sys))
}
