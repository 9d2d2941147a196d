package charts

import (
	"math"
	"strconv"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Curve draws a rate over a number: above, the curve in its 95% band; below, on
// the same axis, where the exposure lies. It needs at least two points.
func Curve(a analytics.CurveAnswer, sys units.System) Chart {
	c := newCurve(a, sys)
	rates, behind := c.rateAxis(), reaching(c.mostExposure(), exposureAxes)
	axis := opts.XAxis{Type: "value", SplitNumber: 6, Min: c.from, Max: c.to}
	bare, below := axis, axis
	bare.AxisLabel = &opts.AxisLabel{Show: opts.Bool(false)}
	below.GridIndex, below.NameLocation = 1, "middle"
	below.Name = a.Over.Title
	if c.unit != "" {
		below.Name += " (" + c.unit + ")"
	}
	label := &opts.AxisLabel{}
	if c.share {
		label.Formatter = types.FuncStr("{value}%")
	}
	return Chart{
		Height: lengthHeight,
		Option: Option{
			Grid: []opts.Grid{
				{Top: strconv.Itoa(ratesTop), Height: strconv.Itoa(ratesHeight)},
				{Top: strconv.Itoa(barsTop), Height: strconv.Itoa(barsHeight)},
			},
			XAxis: []opts.XAxis{bare, below},
			YAxis: []opts.YAxis{
				{Type: "value", Min: 0, Max: rates.end, MinInterval: rates.step, MaxInterval: rates.step, AxisLabel: label},
				{Type: "value", Name: prose.Exposure(a.Outcome), NameLocation: "end", Min: 0, Max: behind.end, MinInterval: behind.step, MaxInterval: behind.step, GridIndex: 1},
			},
			Series: []echarts.SingleSeries{
				{Type: types.ChartCustom, Id: ShapeCurve, Data: []Mark{c.line()}},
				{Type: types.ChartCustom, Id: ShapeStop, Data: c.stops()},
				{Type: types.ChartCustom, Id: ShapeBars, Data: c.bars(), XAxisIndex: 1, YAxisIndex: 1},
			},
		},
	}
}

// CurveBeside draws a corrected curve with the uncorrected one as a broken line
// beside it.
func CurveBeside(a, plain analytics.CurveAnswer, sys units.System) Chart {
	chart := Curve(a, sys)
	c := curve{CurveAnswer: plain, sys: sys, share: a.Outcome.Measure == journal.ShareOf}
	if len(plain.Points) < 2 {
		return chart
	}
	top := chart.Option.YAxis[0].Max.(float64)
	line := Mark{Name: "uncorrected", Tone: 2, Dash: true}
	for _, p := range plain.Points {
		if rate := c.scale(p.Rate); rate <= top {
			line.Points = append(line.Points, []*float64{finite(c.number(p.At)), finite(rate)})
		}
	}
	line.Value = []*float64{finite(c.number(plain.Points[0].At)), finite(0)}
	chart.Option.Series = append(chart.Option.Series, echarts.SingleSeries{Type: types.ChartCustom, Id: ShapeLine, Data: []Mark{line}})
	chart.Key = []Key{{"line-1", "corrected, in its 95% band"}, {"dash-2", "uncorrected"}}
	return chart
}

// curve is a curve on its way to a chart, in the person's units.
type curve struct {
	analytics.CurveAnswer
	sys      units.System
	unit     string
	share    bool
	from, to float64 // of the axis
}

func newCurve(a analytics.CurveAnswer, sys units.System) curve {
	c := curve{CurveAnswer: a, sys: sys, share: a.Outcome.Measure == journal.ShareOf}
	_, c.unit = c.in(0)
	first, last := a.Points[0].At, a.Points[len(a.Points)-1].At
	for _, r := range a.Rug {
		first, last = math.Min(first, r.At), math.Max(last, r.At)
	}
	c.from, c.to = c.number(first), c.number(last)
	c.from, c.to = ends(c.from, c.to)
	return c
}

// ends widens a range to round numbers, which the axis prints.
func ends(from, to float64) (float64, float64) {
	perUnit := 1.0
	for to-from < 4/perUnit && perUnit < 1000 {
		perUnit *= 10
	}
	return math.Floor(from*perUnit) / perUnit, math.Ceil(to*perUnit) / perUnit
}

// in turns a value of the factor into the person's unit.
func (c curve) in(v float64) (float64, string) {
	switch c.Over.Quantity {
	case journal.Length:
		return units.LengthIn(v, c.sys)
	case journal.Flow:
		return units.FlowIn(v, c.sys)
	case journal.Temperature:
		return units.TemperatureIn(v, c.sys)
	case journal.Diameter:
		return v, units.Millimetre.Symbol()
	}
	return v, ""
}

func (c curve) number(v float64) float64 { n, _ := c.in(v); return n }

func (c curve) scale(rate float64) float64 {
	if c.share {
		return 100 * rate
	}
	return rate
}

// line is the whole curve as one mark, placed where its axis surely has room.
func (c curve) line() Mark {
	m := Mark{Name: c.Over.Title, Value: []*float64{finite(c.number(c.Points[0].At)), finite(0)}}
	for _, p := range c.Points {
		point := []*float64{finite(c.number(p.At)), finite(c.scale(p.Rate)), nil, nil}
		if p.HasInterval {
			point[2], point[3] = finite(c.scale(p.Low)), finite(c.scale(p.High))
		}
		m.Points = append(m.Points, point)
	}
	return m
}

// stops are the places on the curve that tell their numbers.
func (c curve) stops() []Mark {
	numbers := prose.CurveTable(c.CurveAnswer, c.sys, len(c.Points))
	marks := make([]Mark, len(c.Points))
	for i, p := range c.Points {
		from, to := c.from, c.to
		if i > 0 {
			from = (c.number(c.Points[i-1].At) + c.number(p.At)) / 2
		}
		if i < len(c.Points)-1 {
			to = (c.number(c.Points[i+1].At) + c.number(p.At)) / 2
		}
		marks[i] = Mark{Name: numbers.Rows[i].Cells[0].Text, Detail: pairs(numbers, i), Value: []*float64{finite(c.number(p.At)), finite(c.scale(p.Rate)), finite(from), finite(to)}}
	}
	return marks
}

// mostBars keep the bars of exposure apart on a phone.
const mostBars = 30

// bars sums the exposure over stretches of equal width.
func (c curve) bars() []Mark {
	sums := make([]float64, mostBars)
	width := (c.to - c.from) / mostBars
	for _, r := range c.Rug {
		i := int((c.number(r.At) - c.from) / width)
		sums[min(max(i, 0), mostBars-1)] += r.Exposure
	}
	var marks []Mark
	for i, sum := range sums {
		if sum > 0 {
			from := c.from + float64(i)*width
			marks = append(marks, Mark{Value: []*float64{finite(from + width/2), finite(sum), finite(from), finite(from + width)}})
		}
	}
	return marks
}

func (c curve) mostExposure() float64 {
	most := 0.0
	for _, m := range c.bars() {
		most = math.Max(most, *m.Value[1])
	}
	return most
}

// rateAxis reaches the curve and most of its band, which may be very wide where
// little was fished.
func (c curve) rateAxis() axis {
	top := 0.0
	for _, p := range c.Points {
		top = math.Max(top, p.Rate)
	}
	end := top
	for _, p := range c.Points {
		if p.HasInterval {
			end = math.Max(end, math.Min(p.High, 2.5*top))
		}
	}
	if c.share && end > 0.8 {
		return axis{100, 25}
	}
	return reaching(c.scale(end), rateAxes)
}
