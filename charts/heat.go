package charts

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"rigtally/analytics"
	"rigtally/internal/svg"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

const (
	cellHeight                = 58 // px
	mostCellRows, mostColumns = 30, 12
)

// Heat crosses the two factors of an answer: a cell for each pair of levels,
// colored by its rate, or by its like-for-like ratio when any can be had, the highest deepest, and
// as large as its exposure, so that what is hardly known does not shout. A pair never fished
// stays blank.
func Heat(a analytics.RateAnswer, sys units.System, link Link) Chart {
	h := newHeat(a, sys, link)
	var marks []Mark
	for i, g := range a.Groups {
		row, column := slices.Index(h.rows, g.Level[h.down]), slices.Index(h.columns, g.Level[h.right])
		if row >= 0 && column >= 0 {
			marks = append(marks, h.cell(i, row, column))
		}
	}
	rows, columns := make([]Row, len(h.rows)), make([]Row, len(h.columns))
	for i, l := range h.rows {
		rows[i].Name = joined(svg.Lines(prose.Level(a.By[h.down].Factor, l, sys), textSize, besideCell-18, 2))
	}
	for i, l := range h.columns {
		columns[i].Name = prose.Level(a.By[h.right].Factor, l, sys)
	}
	top := 24 + above(columns)
	height := cellHeight * float64(len(rows))
	return Chart{Key: h.key(marks), Drawn: len(marks), Ratios: h.ratios, Crossed: true, Scale: h.scaleOf(), Height: top + height + 8, Left: besideCell, Right: 8,
		Fields: []Field{{Top: top, Height: height, X: Axis{Title: h.By[h.right].Factor.Title, Rows: columns}, Y: Axis{Title: h.By[h.down].Factor.Title, Rows: rows}, Layers: []Layer{{Shape: Cells, Marks: marks}}}}}
}

// above is the room that the names of columns need above them.
func above(columns []Row) float64 {
	longest, lines := 0, 1
	for _, c := range columns {
		longest = max(longest, len([]rune(c.Name)))
		lines = max(lines, len(strings.Fields(c.Name)))
	}
	if onEnd(columns) {
		return float64(min(124, 14+8*longest))
	}
	return float64(14 + 15*min(lines, 3))
}

// joined puts lines below each other.
func joined(lines []string) string { return strings.Join(lines, "\n") }

func lineCount(text string) int { return strings.Count(text, "\n") + 1 }

// heat is a crossed answer on its way to a heat map.
type heat struct {
	picture
	down, right   int // which factor the rows and the columns are
	rows, columns []journal.Level
	ratios        bool
	end           reach   // of the rates
	far           float64 // of the ratios, in doublings from 1
}

func newHeat(a analytics.RateAnswer, sys units.System, link Link) heat {
	h := heat{picture: newPicture(a, sys, link), right: 1}
	h.ratios = Alike(a)
	h.rows, h.columns = a.Levels(0), a.Levels(1)
	if len(h.columns) > len(h.rows) { // a phone is taller than wide
		h.down, h.right, h.rows, h.columns = 1, 0, h.columns, h.rows
	}
	h.rows, h.columns = h.mostFishedLevels(h.down, h.rows, mostCellRows), h.mostFishedLevels(h.right, h.columns, mostColumns)
	h.end = h.colourAxis()
	if h.ratios {
		h.far = 1
		for _, g := range a.Groups {
			if positive(g.Corrected) {
				h.far = math.Max(h.far, math.Ceil(math.Abs(math.Log2(*g.Corrected.Ratio))))
			}
		}
		h.far = math.Min(h.far, widest)
	}
	return h
}

// colourAxis ends at the highest rate among the cells that are fished well enough.
func (h heat) colourAxis() reach {
	end := 0.0
	for _, g := range h.Groups {
		if g.Exposure >= wellKnown/2*h.most {
			end = math.Max(end, g.Rate)
		}
	}
	return reaching(h.scale(end), rateAxes)
}

// mostFishedLevels keeps the levels with the most exposure, in their order.
func (h heat) mostFishedLevels(factor int, levels []journal.Level, most int) []journal.Level {
	if len(levels) <= most {
		return levels
	}
	exposure := map[journal.Level]float64{}
	for _, g := range h.Groups {
		exposure[g.Level[factor]] += g.Exposure
	}
	byExposure := slices.Clone(levels)
	slices.SortStableFunc(byExposure, func(x, y journal.Level) int { return cmp.Compare(exposure[y], exposure[x]) })
	return slices.DeleteFunc(slices.Clone(levels), func(l journal.Level) bool { return !slices.Contains(byExposure[:most], l) })
}

func (h heat) cell(i, row, column int) Mark {
	g := h.Groups[i]
	m := h.mark(i)
	m.Knot = "" // its square has the color of what it is worth
	m.X, m.Y, m.Heat = float64(column), float64(row), math.NaN()
	value := g.Rate / h.top()
	if h.ratios {
		value = h.corrected(i)
		m.Label = "?"
		if !math.IsNaN(value) {
			m.Label = prose.Ratio(math.Exp2((2*value - 1) * h.far))
		}
	}
	if !math.IsNaN(value) {
		m.Heat = math.Min(math.Max(value, 0), 1)
	}
	return m
}

// top is the rate at which the colours end.
func (h heat) top() float64 {
	if h.Outcome.Measure == journal.ShareOf {
		return h.end.end / 100
	}
	return h.end.end
}

// corrected places a group's like-for-like ratio on the scale from 0 to 1; NaN without one.
func (h heat) corrected(i int) float64 {
	if i == h.Reference {
		return 0.5
	}
	if c := h.Groups[i].Corrected; positive(c) {
		return (math.Log2(*c.Ratio)/h.far + 1) / 2
	}
	return math.NaN()
}

func (h heat) scaleOf() *Scale {
	s := &Scale{
		Title: prose.Measure(h.Outcome),
		Sizes: "larger: more " + prose.Against(h.Outcome),
	}
	if h.ratios {
		s.Title = prose.TimesAlike
		for d := -h.far; d <= h.far; d++ {
			s.Ticks = append(s.Ticks, Tick{At: (d/h.far + 1) / 2, Text: prose.Ratio(math.Exp2(d))})
		}
		return s
	}
	for _, t := range h.end.axis("", h.unit()).Ticks {
		s.Ticks = append(s.Ticks, Tick{At: t.At / h.end.end, Text: t.Text})
	}
	return s
}

// key explains the marks in the corners of cells; one that is open has none.
func (h heat) key(marks []Mark) []Key {
	return slices.DeleteFunc(h.picture.key(marks), func(k Key) bool { return k.Look == LookOpen })
}
