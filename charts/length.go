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

// Heights in px of the two parts of a chart over tag length.
const (
	ratesTop, ratesHeight = 28, 260
	barsTop, barsHeight   = 344, 90
	lengthHeight          = 484
)

// OverLength draws an answer by tag length alone: above, the rate with its 95%
// interval at each length or over each band; below, on the same axis of
// lengths, bars of the exposure behind it.
func OverLength(a analytics.RateAnswer, sys units.System, link Link) Chart {
	p := newPicture(a, sys, link)
	spans := p.spans()
	shape := ShapePoint
	var marks, bars []Mark
	for i, g := range a.Groups {
		s := spans[i]
		low, high := p.interval(g)
		value := []*float64{finite(s.middle()), finite(p.scale(g.Rate)), low, high, p.radius(g)}
		if g.Level[0].Kind != journal.NumberLevel {
			shape = ShapeBand
			value = append(value, finite(s.from), finite(s.to))
		}
		mark := p.mark(i, value...)
		bar := mark
		bar.Value = []*float64{finite(s.middle()), finite(g.Exposure), finite(s.from), finite(s.to)}
		bar.Label = p.exposure(i)
		marks, bars = append(marks, mark), append(bars, bar)
	}
	axis := p.lengthAxis(spans)
	bare, below := axis, axis
	bare.AxisLabel = &opts.AxisLabel{Show: opts.Bool(false)}
	below.GridIndex = 1
	_, unit := units.LengthIn(0, sys)
	below.Name, below.NameLocation = "Tag length ("+unit+")", "middle"
	rates, behind := p.rateAxis(), reaching(p.mostExposure(), exposureAxes)
	lower := echarts.SingleSeries{Type: types.ChartCustom, Id: ShapeBars, Data: bars, XAxisIndex: 1, YAxisIndex: 1}
	return Chart{
		Key:    p.key(marks),
		Drawn:  len(marks),
		Height: lengthHeight,
		Option: Option{
			Grid: []opts.Grid{
				{Top: strconv.Itoa(ratesTop), Height: strconv.Itoa(ratesHeight)},
				{Top: strconv.Itoa(barsTop), Height: strconv.Itoa(barsHeight)},
			},
			XAxis: []opts.XAxis{bare, below},
			YAxis: []opts.YAxis{
				{Type: "value", Min: 0, Max: rates.end, MinInterval: rates.step, MaxInterval: rates.step, AxisLabel: p.rateLabels()},
				{Type: "value", Name: prose.Exposure(a.Outcome), NameLocation: "end", Min: 0, Max: behind.end, MinInterval: behind.step, MaxInterval: behind.step, GridIndex: 1},
			},
			Series: append(p.reference(), echarts.SingleSeries{Type: types.ChartCustom, Id: shape, Data: marks}, lower),
		},
	}
}

// span is where a group lies on the axis of lengths, in the person's unit.
type span struct{ from, to float64 }

func (s span) middle() float64 { return (s.from + s.to) / 2 }

// spans returns where each group lies. A single length gets the width of half
// the least distance between two, and an open band that of its neighbour.
func (p picture) spans() []span {
	in := func(mm float64) float64 { v, _ := units.LengthIn(mm, p.sys); return v }
	gap := p.leastGap(in)
	out := make([]span, len(p.Groups))
	for i, g := range p.Groups {
		l := g.Level[0]
		switch l.Kind {
		case journal.BandLevel:
			out[i] = span{in(l.Number), in(l.Upper)}
		case journal.BelowLevel:
			out[i] = span{math.Max(0, in(l.Upper)-gap), in(l.Upper)}
		case journal.AboveLevel:
			out[i] = span{in(l.Number), in(l.Number) + gap}
		default:
			out[i] = span{in(l.Number) - gap/4, in(l.Number) + gap/4}
		}
	}
	return out
}

// leastGap is the least distance between two lengths or the width of a band, in the person's unit.
func (p picture) leastGap(in func(float64) float64) float64 {
	least := math.Inf(1)
	for i, g := range p.Groups {
		l := g.Level[0]
		if l.Kind == journal.BandLevel {
			least = math.Min(least, in(l.Upper)-in(l.Number))
		}
		if i > 0 && l.Kind == journal.NumberLevel {
			least = math.Min(least, in(l.Number)-in(p.Groups[i-1].Level[0].Number))
		}
	}
	if math.IsInf(least, 1) {
		return in(25.4)
	}
	return least
}

// lengthAxis reaches a little beyond the shortest and longest tag, to whole
// inches or centimetres.
func (p picture) lengthAxis(spans []span) opts.XAxis {
	axis := opts.XAxis{Type: "value", SplitNumber: 6}
	if len(spans) == 0 {
		return axis
	}
	step := 10.0
	if p.sys == units.US {
		step = 1
	}
	axis.Min = math.Max(0, step*math.Floor(spans[0].from/step))
	axis.Max = step * math.Ceil(spans[len(spans)-1].to/step)
	return axis
}
