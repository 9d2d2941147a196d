package charts

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

const (
	leastRadius, mostRadius = 4, 9 // of a point, in px
	// wellKnown is the share of the largest exposure from which a group's
	// interval is worth stretching the axis for. Longer ones are cut and end in
	// an arrow, or one hour of fishing would squeeze a season's groups flat.
	wellKnown = 0.1
	// widest is how far from 1 an axis of ratios reaches at most, in doublings.
	widest = 4
)

// reach is where an axis from 0 ends and how far apart its ticks are.
type reach struct{ end, step float64 }

// Ends of axes between 1 and 10, with steps that divide them.
var (
	rateAxes     = []reach{{1, 0.25}, {1.2, 0.3}, {1.6, 0.4}, {2, 0.5}, {2.4, 0.6}, {3, 1}, {4, 1}, {5, 1}, {6, 2}, {8, 2}, {10, 2.5}}
	exposureAxes = []reach{{1, 0.5}, {2, 1}, {3, 1.5}, {4, 2}, {5, 2.5}, {6, 3}, {8, 4}, {10, 5}}
)

// reaching returns the shortest axis that reaches a value.
func reaching(v float64, axes []reach) reach {
	if v <= 0 || math.IsInf(v, 0) {
		return axes[0]
	}
	power := int(math.Floor(math.Log10(v)))
	for _, a := range axes {
		if end := decimal(a.end, power); v <= end {
			return reach{end, decimal(a.step, power)}
		}
	}
	return reach{decimal(10, power), decimal(5, power)}
}

// decimal returns the number nearest to v times a power of ten, so that it
// prints as it is written: 0.6, and not a binary digit more.
func decimal(v float64, power int) float64 {
	v, _ = strconv.ParseFloat(fmt.Sprintf("%ge%d", v, power), 64) // of this form it can't fail
	return v
}

// roundTo takes off the binary digits that arithmetic left, and the sign of 0.
func roundTo(v float64) float64 { return math.Round(v*1e9)/1e9 + 0 }

// axis is the axis from 0 to where it reaches.
func (r reach) axis(title, unit string) Axis { return numbers(title, 0, r.end, r.step, unit) }

// numbers is an axis with a tick at each multiple of a step; its unit follows each number.
func numbers(title string, from, to, step float64, unit string) Axis {
	a := Axis{Title: title, From: from, To: to}
	for i := math.Ceil(from/step - 1e-9); i*step <= to+1e-9*step; i++ {
		v := roundTo(i * step)
		a.Ticks = append(a.Ticks, Tick{At: v, Text: grouped(v) + unit})
	}
	return a
}

// grouped writes a number with its thousands apart.
func grouped(v float64) string {
	text := strconv.FormatFloat(v, 'f', -1, 64)
	whole, rest, dot := strings.Cut(text, ".")
	for i := len(whole) - 3; i > 0 && whole[i-1] != '-'; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if dot {
		return whole + "." + rest
	}
	return whole
}

// stepFor divides a span into about five steps of 1, 2 or 5.
func stepFor(span float64) float64 {
	if span <= 0 {
		return 1
	}
	raw := span / 5
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5} {
		if raw <= m*power {
			return roundTo(m * power)
		}
	}
	return roundTo(10 * power)
}

// ends widens a range to round numbers, which the axis prints.
func ends(from, to float64) (float64, float64) {
	perUnit := 1.0
	for to-from < 4/perUnit && perUnit < 1000 {
		perUnit *= 10
	}
	return math.Floor(from*perUnit) / perUnit, math.Ceil(to*perUnit) / perUnit
}

// ratios is an axis on which twice and half lie equally far from 1.
func ratios(title string, doublings float64) Axis {
	a := Axis{Title: title, From: math.Exp2(-doublings), To: math.Exp2(doublings), Log: true}
	for d := -doublings; d <= doublings; d++ {
		text := strconv.FormatFloat(math.Exp2(d), 'f', -1, 64)
		if d < 0 {
			text = "1/" + strconv.FormatFloat(math.Exp2(-d), 'f', -1, 64)
		}
		a.Ticks = append(a.Ticks, Tick{At: math.Exp2(d), Text: text})
	}
	return a
}

// at is the place of a number, as a part of the axis from its beginning; beyond its
// ends it is less than 0 or more than 1.
func (a Axis) at(v float64) float64 {
	if n := len(a.Rows); n > 0 {
		return (v + 0.5) / float64(n)
	}
	if !a.Log {
		return (v - a.From) / (a.To - a.From)
	}
	if v <= 0 {
		return math.Inf(-1)
	}
	return math.Log(v/a.From) / math.Log(a.To/a.From)
}
