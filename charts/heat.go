package charts

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

const (
	cellHeight                = 50  // px
	scaleHeight               = 132 // px, of the legend below the cells
	mostCellRows, mostColumns = 30, 12
)

// Scale is the legend of a heat map: what its colours and their fading mean.
type Scale struct {
	Title string   `json:"title"`
	Ticks []Tick   `json:"ticks"`
	Fades []string `json:"fades"` // from full colour to none
	Down  string   `json:"down"`  // what the rows are
	Right string   `json:"right"` // what the columns are
}

// Tick is a place on a scale from 0 to 1.
type Tick struct {
	At   float64 `json:"at"`
	Text string  `json:"text"`
}

// Heat crosses the two factors of an answer: a cell for each pair of levels,
// coloured by its rate, or by its corrected ratio when there is one, and fading
// to grey as its 95% interval widens, so that what is hardly known does not shout
// (after the value-suppressing palettes of Correll, Moritz & Heer, CHI 2018). A
// bar at the foot of each cell shows its exposure; a pair never fished stays blank.
func Heat(a analytics.RateAnswer, sys units.System, link Link) Chart {
	h := newHeat(a, sys, link)
	var marks []Mark
	for i, g := range a.Groups {
		row, column := slices.Index(h.rows, g.Level[h.down]), slices.Index(h.columns, g.Level[h.right])
		if row >= 0 && column >= 0 {
			marks = append(marks, h.cell(i, row, column))
		}
	}
	rows := make([]Row, len(h.rows))
	for i, l := range h.rows {
		rows[i].Name = prose.Level(a.By[h.down].Factor, l, sys)
	}
	columns := make([]string, len(h.columns))
	for i, l := range h.columns {
		columns[i] = prose.Level(a.By[h.right].Factor, l, sys)
	}
	top := 24 + above(columns)
	legend := echarts.SingleSeries{Type: types.ChartCustom, Id: ShapeScale, Data: []Mark{{Value: []*float64{finite(0), finite(0)}}}}
	return Chart{
		Key:     h.key(marks),
		Drawn:   len(marks),
		Ratios:  h.ratios,
		Crossed: true,
		Rows:    rows,
		Columns: columns,
		Scale:   h.scaleOf(),
		Height:  top + cellHeight*len(rows) + scaleHeight,
		Option: Option{
			Grid:   []opts.Grid{{Top: strconv.Itoa(top), Bottom: strconv.Itoa(scaleHeight)}},
			XAxis:  []opts.XAxis{{Type: "category", Position: "top", Data: numbered(len(columns))}},
			YAxis:  []opts.YAxis{{Type: "category", Inverse: opts.Bool(true), Data: numbered(len(rows))}},
			Series: []echarts.SingleSeries{{Type: types.ChartCustom, Id: ShapeCell, Data: marks}, legend},
		},
	}
}

// above is the room in px that the names of columns need above them. Where even
// the widest word has no room beside its neighbours on a phone, they stand on end.
func above(columns []string) int {
	longest, word, lines := 0, 0, 1
	for _, c := range columns {
		longest = max(longest, len([]rune(c)))
		words := strings.Fields(c)
		lines = max(lines, len(words))
		for _, w := range words {
			word = max(word, len([]rune(w)))
		}
	}
	if word*8+6 <= 230/max(len(columns), 1) {
		return 14 + 15*min(lines, 3)
	}
	return min(124, 14+8*longest)
}

// numbered stands in for labels, which the script writes.
func numbered(n int) []string {
	names := make([]string, n)
	for i := range names {
		names[i] = strconv.Itoa(i)
	}
	return names
}

// heat is a crossed answer on its way to a heat map.
type heat struct {
	picture
	down, right   int // which factor the rows and the columns are
	rows, columns []journal.Level
	ratios        bool
	end           axis    // of the rates
	reach         float64 // of the ratios, in doublings from 1
	most          float64 // exposure
}

func newHeat(a analytics.RateAnswer, sys units.System, link Link) heat {
	h := heat{picture: newPicture(a, sys, link), right: 1}
	h.ratios = len(a.Given) > 0 && a.Reference >= 0 && len(a.Groups) > 1
	h.rows, h.columns = a.Levels(0), a.Levels(1)
	if len(h.columns) > len(h.rows) { // a phone is taller than wide
		h.down, h.right, h.rows, h.columns = 1, 0, h.columns, h.rows
	}
	h.rows, h.columns = h.mostFishedLevels(h.down, h.rows, mostCellRows), h.mostFishedLevels(h.right, h.columns, mostColumns)
	h.end, h.most = h.colourAxis(), h.mostExposure()
	if h.ratios {
		h.reach = h.doublings()
	}
	return h
}

// colourAxis ends at the highest rate among the cells that are fished well enough.
func (h heat) colourAxis() axis {
	most, end := h.mostExposure(), 0.0
	for _, g := range h.Groups {
		if g.Exposure >= wellKnown/2*most {
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
	m := h.mark(i, finite(float64(column)), finite(float64(row)))
	m.Note, m.Share = h.exposure(i), finite(g.Exposure/h.most)
	value, low, high := g.Rate/h.top(), g.Low/h.top(), g.High/h.top()
	known := g.HasInterval
	if h.ratios {
		value, low, high, known = h.corrected(i)
		m.Label = "?"
		if !math.IsNaN(value) {
			m.Label = prose.Ratio(math.Exp2((2*value - 1) * h.reach))
		}
	}
	if math.IsNaN(value) {
		return m // without a colour
	}
	m.Heat = finite(math.Min(math.Max(value, 0), 1))
	m.Fade = faded(high-low, known)
	return m
}

// top is the rate at which the colours end.
func (h heat) top() float64 {
	if h.Outcome.Measure == journal.ShareOf {
		return h.end.end / 100
	}
	return h.end.end
}

// corrected places a group's corrected ratio on the scale from 0 to 1.
func (h heat) corrected(i int) (value, low, high float64, known bool) {
	if i == h.Reference {
		return 0.5, 0.5, 0.5, true
	}
	c := h.Groups[i].Corrected
	if c == nil || c.Ratio == nil || *c.Ratio <= 0 {
		return math.NaN(), 0, 0, false
	}
	at := func(v float64) float64 { return (math.Log2(v)/h.reach + 1) / 2 }
	if c.Low == nil || c.High == nil || *c.Low <= 0 {
		return at(*c.Ratio), 0, 0, false
	}
	return at(*c.Ratio), at(*c.Low), at(*c.High), true
}

// fades are the widths of an interval, in parts of the scale, at which the
// colour fades once more.
var fades = []float64{0.5, 1, 2}

// faded says how far a colour fades by the width of the interval behind it.
func faded(width float64, known bool) int {
	if !known || math.IsNaN(width) {
		return len(fades)
	}
	n := 0
	for n < len(fades) && width > fades[n] {
		n++
	}
	return n
}

func (h heat) scaleOf() *Scale {
	s := &Scale{
		Title: prose.Measure(h.Outcome),
		Fades: prose.HeatFades(),
		Down:  h.By[h.down].Factor.Title,
		Right: h.By[h.right].Factor.Title,
	}
	if h.ratios {
		s.Title = prose.CorrectedTimes
		for d := -h.reach; d <= h.reach; d++ {
			s.Ticks = append(s.Ticks, Tick{(d/h.reach + 1) / 2, prose.Ratio(math.Exp2(d))})
		}
		return s
	}
	for i := range int(math.Round(h.end.end/h.end.step)) + 1 {
		v := decimalTimes(i, h.end.step)
		text := strconv.FormatFloat(v, 'g', -1, 64)
		if h.Outcome.Measure == journal.ShareOf {
			text += "%"
		}
		s.Ticks = append(s.Ticks, Tick{v / h.end.end, text})
	}
	return s
}

// decimalTimes is n steps, without the binary digits that a product may add.
func decimalTimes(n int, step float64) float64 {
	return math.Round(float64(n)*step*1e9) / 1e9
}

// key explains the marks in the corners of cells; one that is open has none.
func (h heat) key(marks []Mark) []Key {
	return slices.DeleteFunc(h.picture.key(marks), func(k Key) bool { return k.Look == LookOpen })
}
