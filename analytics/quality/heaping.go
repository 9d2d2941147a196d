package quality

import (
	"math"

	"rigtally/analytics/stat"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Heaping says how often values were written down as round ones.
type Heaping struct {
	Measure  HeapMeasure `json:"measure"`
	Unit     units.Unit  `json:"unit"` // in which they were measured
	Values   int         `json:"values"`
	Grid     float64     `json:"grid"` // the coarsest that most values share; in Unit
	OnGrid   int         `json:"on_grid"`
	Share    float64     `json:"share"`
	Expected float64     `json:"expected"` // share with every last digit, or eighth of an inch, as likely as any other
	// P is the exact chance of so many or more; nil when there are too few
	// values, or too few different ones, to tell rounding from habit.
	P      *float64 `json:"p"`
	Heaped bool     `json:"heaped"`
}

// HeapMeasure says what was measured.
type HeapMeasure string

// What people round.
const (
	HeapTags    HeapMeasure = "tag-length"
	HeapMinutes HeapMeasure = "minutes"
)

// ruler is a unit with the grids to which people round in it, the finest first.
type ruler struct {
	unit  units.Unit
	size  float64 // of the unit, in the stored unit
	grids []grid
}

type grid struct{ step, expected float64 }

// rulers: millimetres and minutes are read to one unit, inches to an eighth.
func millimetres() ruler {
	return ruler{units.Millimetre, 1, []grid{{5, 0.2}, {10, 0.1}, {50, 0.02}, {100, 0.01}}}
}

func inches() ruler {
	return ruler{units.Inch, 25.4, []grid{{0.25, 1. / 2}, {0.5, 1. / 4}, {1, 1. / 8}}}
}

func minutes() ruler {
	return ruler{units.Minute, 1, []grid{{5, 0.2}, {10, 0.1}, {15, 1. / 15}, {30, 1. / 30}, {60, 1. / 60}}}
}

const (
	fewestToHeap    = 20   // values
	fewestDifferent = 4    // values, fewer being habits
	heapedBelow     = 0.01 // p; low, since several grids are looked at
)

// heaped looks for round values among lengths of tags and minutes. Lengths are
// taken in the unit in which they were measured, as far as the values tell.
func heaped(q journal.Quality) ([]Heaping, error) {
	metric, inch := byRuler(q.TagLengths)
	var list []Heaping
	for _, c := range []struct {
		measure HeapMeasure
		ruler   ruler
		values  []journal.Written
	}{{HeapTags, millimetres(), metric}, {HeapTags, inches(), inch}, {HeapMinutes, minutes(), q.Minutes}} {
		if len(c.values) == 0 {
			continue
		}
		h, err := c.ruler.heaping(c.values)
		if err != nil {
			return nil, err
		}
		h.Measure = c.measure
		list = append(list, h)
	}
	return list, nil
}

// byRuler parts lengths in mm into those measured in millimetres and in inches.
// What may be either, such as 127 mm, goes with the greater part.
func byRuler(lengths []journal.Written) (metric, inch []journal.Written) {
	var either []journal.Written
	wholly, inInches := 0, 0
	for _, w := range lengths {
		isInch := isMultiple(w.Value, 25.4/16) || isMultiple(w.Value, 25.4/10)
		switch isMetric := isMultiple(w.Value, 1); {
		case isMetric && isInch:
			either = append(either, w)
		case isInch:
			inch = append(inch, w)
			inInches += w.Times
		default:
			metric = append(metric, w)
			wholly += w.Times
		}
	}
	if inInches > wholly {
		return metric, append(inch, either...)
	}
	return append(metric, either...), inch
}

func isMultiple(v, step float64) bool {
	const rounding = 1e-6
	return math.Abs(v/step-math.Round(v/step)) < rounding
}

// heaping chooses the grid to speak of and tests it. A grid is coarser than the
// one before it in truth when at least half of the values lie on it, and more of
// those on the finer grid than would by chance: half of all quarter inches are
// half inches anyway.
func (r ruler) heaping(values []journal.Written) (Heaping, error) {
	h := Heaping{Unit: r.unit}
	for _, w := range values {
		h.Values += w.Times
	}
	for i, g := range r.grids {
		on := r.onGrid(g, values)
		if i > 0 {
			if 2*on < h.Values || !isMultiple(g.step, h.Grid) {
				continue
			}
			p, err := stat.BinomialAtLeast(on, h.OnGrid, g.expected/h.Expected)
			if err != nil {
				return h, err
			}
			if p >= heapedBelow {
				continue
			}
		}
		h.Grid, h.Expected, h.OnGrid = g.step, g.expected, on
	}
	h.Share = float64(h.OnGrid) / float64(h.Values)
	if h.Values < fewestToHeap || len(values) < fewestDifferent {
		return h, nil
	}
	p, err := stat.BinomialAtLeast(h.OnGrid, h.Values, h.Expected)
	if err != nil {
		return h, err
	}
	h.P, h.Heaped = &p, p < heapedBelow
	return h, nil
}

func (r ruler) onGrid(g grid, values []journal.Written) int {
	n := 0
	for _, w := range values {
		if isMultiple(w.Value, g.step*r.size) {
			n += w.Times
		}
	}
	return n
}
