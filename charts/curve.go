package charts

import (
	"math"
	"slices"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Curve draws a rate over a number: above, the curve in its 95% band, on a shaded ground where it was
// hardly fished, with a mark and a line at the value likeliest to be the best; below, on the same axis, where the
// exposure lies. It needs at least two points.
func Curve(a analytics.CurveAnswer, sys units.System) Chart {
	c := newCurve(a, sys)
	bars := c.bars()
	highest := most(bars, func(m Mark) float64 { return m.Y })
	title := a.Over.Title
	if _, unit := c.in(0); unit != "" {
		title += " (" + unit + ")"
	}
	line, stops := c.line(a.Points), c.stops()
	line.Name = a.Over.Title
	y := c.rateAxis().axis("", unitOf(a.Outcome))
	layers := append(c.hardly(y), line)
	if best := a.Choice(); best != nil {
		name := stops.Marks[slices.IndexFunc(a.Points, func(p analytics.CurvePoint) bool { return p.At == best.At })].Name
		x := c.number(best.At)
		layers = append(layers, Layer{Shape: Points, Tone: 1, Marks: []Mark{{Name: name, Label: name, X: x, Y: scaled(a.Outcome, best.Rate), Radius: 6}}})
	}
	x := numbers(title, c.from, c.to, stepFor(c.to-c.from), "")
	if a.Over.Quantity == journal.Length && c.from >= 0 {
		x = tagAxis(title, c.from, c.to)
	}
	return overBars(x, y, reaching(highest, exposureAxes).axis(prose.Exposure(a.Outcome), ""),
		Layer{Shape: Bars, Marks: bars}, append(layers, stops)...)
}

// hardly is shaded ground below and above the range that was fished.
func (c curve) hardly(y Axis) []Layer {
	if len(c.Rug) == 0 {
		return nil
	}
	fished := c.Fished()
	l := Layer{Shape: Washes}
	for _, side := range []Span{{c.from, c.number(fished.From)}, {c.number(fished.To), c.to}} {
		if side.Low < side.High {
			l.Marks = append(l.Marks, Mark{X: (side.Low + side.High) / 2, Y: (y.From + y.To) / 2, Wide: &side, Upright: &Span{y.From, y.To}})
		}
	}
	if l.Marks == nil {
		return nil
	}
	return []Layer{l}
}

// CurveBeside draws a like-for-like curve with the one as fished as a broken line
// beside it.
func CurveBeside(a, fished analytics.CurveAnswer, sys units.System) Chart {
	chart := Curve(a, sys)
	c := curve{CurveAnswer: fished, sys: sys}
	if len(fished.Points) < 2 {
		return chart
	}
	line := Layer{Shape: Line, Says: prose.AsFished, Tone: 2, Dash: true}
	for _, m := range c.line(fished.Points).Marks {
		if m.Y <= chart.Fields[0].Y.To {
			line.Marks = append(line.Marks, Mark{X: m.X, Y: m.Y})
		}
	}
	layers := append(chart.Fields[0].Layers, line)
	layers[slices.IndexFunc(layers, func(l Layer) bool { return l.Shape == Line })].Says = "like for like"
	chart.Fields[0].Layers = layers
	return chart
}

// curve is a curve on its way to a chart, in the person's units.
type curve struct {
	analytics.CurveAnswer
	sys      units.System
	from, to float64 // of the axis
}

func newCurve(a analytics.CurveAnswer, sys units.System) curve {
	c := curve{CurveAnswer: a, sys: sys}
	all := Span{a.Points[0].At, a.Points[len(a.Points)-1].At}
	for _, r := range a.Rug {
		all = all.with(r.At)
	}
	c.from, c.to = ends(c.number(all.Low), c.number(all.High))
	return c
}

// in turns a value of the factor into the person's unit.
func (c curve) in(v float64) (float64, string) {
	switch c.Over.Quantity {
	case journal.Length:
		return units.In(units.Length, v, c.sys)
	case journal.Flow:
		return units.In(units.Flow, v, c.sys)
	case journal.Temperature:
		return units.In(units.Temperature, v, c.sys)
	case journal.Percent:
		return v, "% of years"
	case journal.Diameter:
		return v, units.Millimetre.Symbol()
	}
	return v, ""
}

func (c curve) number(v float64) float64 { n, _ := c.in(v); return n }

// line is the curve in its band.
func (c curve) line(points []analytics.CurvePoint) Layer {
	l := Layer{Shape: Line, Tone: 1}
	for _, p := range points {
		m := Mark{X: c.number(p.At), Y: scaled(c.Outcome, p.Rate)}
		if p.HasInterval {
			m.Upright = &Span{scaled(c.Outcome, p.Low), scaled(c.Outcome, p.High)}
		}
		l.Marks = append(l.Marks, m)
	}
	return l
}

// stops are the places on the curve that tell their numbers.
func (c curve) stops() Layer {
	numbers := prose.CurveTable(c.CurveAnswer, c.sys, len(c.Points))
	l := Layer{Shape: Stops}
	for i, p := range c.Points {
		l.Marks = append(l.Marks, Mark{Name: numbers.Rows[i].Cells[0].Text, X: c.number(p.At), Y: scaled(c.Outcome, p.Rate), Detail: pairs(numbers, i)})
	}
	widened(l.Marks)
	return l
}

// widened lets each of several places reach halfway to the next, for the pointer.
func widened(marks []Mark) {
	for i := range marks {
		before, after := marks[max(i-1, 0)].X, marks[min(i+1, len(marks)-1)].X
		marks[i].Wide = &Span{(before + marks[i].X) / 2, (after + marks[i].X) / 2}
	}
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
			marks = append(marks, Mark{X: from + width/2, Y: sum, Wide: &Span{from, from + width}})
		}
	}
	return marks
}

// rateAxis reaches the curve and most of its band, which may be very wide where
// little was fished.
func (c curve) rateAxis() reach {
	top := most(c.Points, func(p analytics.CurvePoint) float64 { return p.Rate })
	return rateReach(c.Outcome, most(c.Points, func(p analytics.CurvePoint) float64 {
		if p.HasInterval {
			return math.Max(p.Rate, math.Min(p.High, 2.5*top))
		}
		return p.Rate
	}))
}
