package charts

import (
	"math"
	"slices"
	"strconv"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"rigtally/analytics/bench"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

const (
	pullRow     = 76 // px: dots above, the mean below
	linesHeight = 420
	mostLines   = 8 // four tones, whole and dashed
	mostTenths  = 3 // intervals of the 10% strength that can be told apart
)

// Looks of a pull in a dot plot.
const (
	lookBroke   = "dot-2"  // in the key; the mark itself has the tone
	lookSlipped = "cross"  // the knot ran out
	lookBeyond  = "beyond" // it would have borne more
)

// onBench is an answer of the onBench on its way to a chart.
type onBench struct {
	bench.Answer
	sys  units.System
	link func(bench.Group) string
}

// scale turns a strength into the chart's number.
func (b onBench) scale(v float64) float64 {
	if b.Relative {
		return 100 * v
	}
	n, _ := units.ForceIn(v, b.sys)
	return n
}

// strengthAxis is the axis of strengths, which need not start at 0: dots have no length.
func (b onBench) strengthAxis(values []float64) opts.XAxis {
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if !math.IsInf(v, 0) && !math.IsNaN(v) {
			low, high = math.Min(low, b.scale(v)), math.Max(high, b.scale(v))
		}
	}
	if math.IsInf(low, 0) {
		low, high = 0, 1
	}
	step := stepFor(high - low)
	axis := opts.XAxis{Type: "value", Min: roundTo(math.Max(0, math.Floor(low/step-0.1)*step)), Max: roundTo(math.Ceil(high/step+0.1) * step), MinInterval: step, MaxInterval: step, AxisLabel: &opts.AxisLabel{}}
	if b.Relative {
		axis.AxisLabel.Formatter = types.FuncStr("{value}%")
	}
	return axis
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

// roundTo takes off the binary digits that arithmetic left.
func roundTo(v float64) float64 { return math.Round(v*1e9) / 1e9 }

// PullLink gives the address to which a click on a group of pulls leads.
type PullLink func(bench.Group) string

// Dots draws each pull as a dot on its group's row, and below the dots the
// group's mean with its 95% interval.
func Dots(a bench.Answer, sys units.System, link PullLink) Chart {
	b := onBench{a, sys, link}
	var rows []Row
	var pulls, means []Mark
	var values []float64
	seen := map[string]bool{}
	numbers := prose.BenchTable(a, sys)
	for i, g := range a.Groups {
		row := finite(float64(i))
		stack := map[int]int{}
		for _, p := range g.Points {
			values = append(values, p.Strength)
			mark := b.pull(g, p)
			near := int(math.Round(b.scale(p.Strength) * 40 / math.Max(b.spread(), 1e-9)))
			stack[near]++
			mark.Value = []*float64{finite(b.scale(p.Strength)), row, finite(float64(stack[near] - 1))}
			seen[mark.Look] = true
			pulls = append(pulls, mark)
		}
		if g.N > 0 {
			mark := Mark{Name: prose.BenchLevel(a, g, sys), Label: prose.Strength(g.Mean, a.Relative, sys), Look: b.look(i), Value: []*float64{finite(b.scale(g.Mean)), row, nil, nil, finite(6), nil}}
			if g.MeanLow != nil {
				mark.Value[2], mark.Value[3] = finite(b.scale(*g.MeanLow)), finite(b.scale(*g.MeanHigh))
				values = append(values, *g.MeanLow, *g.MeanHigh)
			}
			mark.Detail = pairs(numbers, i)
			if link != nil {
				mark.Href = link(g)
			}
			means = append(means, mark)
		}
		rows = append(rows, Row{Name: prose.BenchLevel(a, g, sys), Note: pullsNote(g)})
	}
	names := make([]string, len(rows))
	for i := range rows {
		names[i] = strconv.Itoa(i) // the script writes the labels
	}
	return Chart{
		Key:    b.dotKey(means, seen),
		Drawn:  len(rows),
		Rows:   rows,
		Height: aboveRows + pullRow*len(rows) + belowRows,
		Option: Option{
			Grid:   []opts.Grid{{Top: strconv.Itoa(aboveRows), Bottom: strconv.Itoa(belowRows)}},
			XAxis:  []opts.XAxis{b.strengthAxis(values)},
			YAxis:  []opts.YAxis{{Type: "category", Inverse: opts.Bool(true), Data: names}},
			Series: append(b.reference(), drawn(shape{ShapeMean, means}, shape{ShapePull, pulls})...),
		},
	}
}

// spread is how far the strengths of an answer reach, in the chart's numbers.
func (b onBench) spread() float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, g := range b.Groups {
		for _, p := range g.Points {
			low, high = math.Min(low, b.scale(p.Strength)), math.Max(high, b.scale(p.Strength))
		}
	}
	return high - low
}

// shape is a shape with its marks.
type shape struct {
	id    string
	marks []Mark
}

// drawn makes series of the shapes that have marks, since the script takes no empty ones.
func drawn(shapes ...shape) []echarts.SingleSeries {
	var list []echarts.SingleSeries
	for _, s := range shapes {
		if len(s.marks) > 0 {
			list = append(list, echarts.SingleSeries{Type: types.ChartCustom, Id: s.id, Data: s.marks})
		}
	}
	return list
}

func pullsNote(g bench.Group) string {
	if g.N == 1 {
		return "1 pull"
	}
	return strconv.Itoa(g.N) + " pulls"
}

// pull makes the mark of one pull.
func (b onBench) pull(g bench.Group, p bench.Point) Mark {
	mark := Mark{Name: prose.BenchLevel(b.Answer, g, b.sys), Tone: 2, Detail: [][]string{
		{"Force", units.FormatForce(p.ForceN, b.sys)}, {"Tippet", units.FormatTippet(p.TippetMM)}, {"Ended", prose.PullEnded(p.Ending, p.BrokeAt)}}}
	if b.Relative {
		mark.Detail = append(mark.Detail, []string{"Of unknotted", prose.Strength(p.Strength, true, b.sys)})
	}
	switch {
	case p.Ending == journal.PulledSlipped:
		mark.Look = lookSlipped
	case p.Ending == journal.PulledHeld || p.BrokeAt == journal.PullBrokeGrip:
		mark.Look = lookBeyond
	}
	return mark
}

func (b onBench) look(i int) string {
	c := b.Groups[i].Versus
	switch {
	case i == b.Reference && len(b.Groups) > 1:
		return LookReference
	case c == nil:
		return LookAlone
	}
	for _, v := range verdicts {
		if v.verdict == c.Verdict {
			return v.look
		}
	}
	return LookOpen
}

// reference is the line at the mean of the group that others are compared with.
func (b onBench) reference() []echarts.SingleSeries {
	if b.Reference < 0 || len(b.Groups) < 2 || b.Groups[b.Reference].N == 0 {
		return nil
	}
	g := b.Groups[b.Reference]
	line := Mark{Name: "mean of " + prose.BenchLevel(b.Answer, g, b.sys), Value: []*float64{finite(b.scale(g.Mean)), finite(0)}}
	return []echarts.SingleSeries{{Type: types.ChartCustom, Id: ShapeLevel, Data: []Mark{line}}}
}

func (b onBench) dotKey(means []Mark, seen map[string]bool) []Key {
	list := []Key{{lookBroke, "a pull that broke"}}
	if seen[lookSlipped] {
		list = append(list, Key{lookSlipped, "slipped"})
	}
	if seen[lookBeyond] {
		list = append(list, Key{lookBeyond, "holds at least that"})
	}
	if b.Reference < 0 || len(b.Groups) < 2 {
		return list
	}
	name := prose.BenchLevel(b.Answer, b.Groups[b.Reference], b.sys)
	list = append(list, Key{LookReference, "mean of " + prose.Reference(name)})
	for _, v := range verdicts {
		if slices.ContainsFunc(means, func(m Mark) bool { return m.Look == v.look }) {
			list = append(list, Key{v.look, "mean " + prose.Verdict(v.verdict, name)})
		}
	}
	return list
}

// WeibullLines draws for each group the share of pulls that fails up to a
// strength: its Weibull line with its pulls as dots. Of up to three groups the
// interval of the strength that one pull in ten does not reach lies across at one
// in ten; of many groups it draws the eight with most pulls.
func WeibullLines(a bench.Answer, sys units.System) Chart {
	b := onBench{a, sys, nil}
	var lines, dots, tenths []Mark
	var values []float64
	var key []Key
	fitted := b.fitted()
	for tone, i := range fitted {
		g := a.Groups[i]
		name := prose.BenchLevel(a, g, sys)
		mark := Mark{Name: name, Tone: tone%4 + 1, Dash: tone >= 4}
		look := "line-"
		if mark.Dash {
			look = "dash-"
		}
		key = append(key, Key{look + strconv.Itoa(mark.Tone), name})
		line := mark
		for _, p := range g.Weibull.Line {
			line.Points = append(line.Points, []*float64{finite(b.scale(p.Strength)), finite(100 * p.Share)})
			values = append(values, p.Strength)
		}
		line.Value = line.Points[0]
		lines = append(lines, line)
		w := g.Weibull
		tenth := mark
		tenth.Dash = false
		tenth.Points = [][]*float64{{finite(b.scale(w.B10Interval.Low)), finite(10)}, {finite(b.scale(w.B10Interval.High)), finite(10)}}
		tenth.Value = tenth.Points[0]
		if len(fitted) <= mostTenths { // more would lie on one another
			tenths = append(tenths, tenth)
			values = append(values, w.B10Interval.Low, w.B10Interval.High)
		}
		for _, p := range g.Points {
			if math.IsNaN(p.Share) {
				continue
			}
			dot := b.pull(g, p)
			dot.Look, dot.Tone, dot.Dash = "", mark.Tone, mark.Dash
			dot.Value = []*float64{finite(b.scale(p.Strength)), finite(100 * p.Share), finite(4)}
			dots = append(dots, dot)
			values = append(values, p.Strength)
		}
	}
	axis := b.strengthAxis(values)
	axis.NameLocation, axis.Name = "middle", "Force ("+forceUnit(sys)+")"
	if a.Relative {
		axis.Name = "Strength, of unknotted line"
	}
	level := Mark{Name: "one in ten", Label: "one in ten", Value: []*float64{finite(10), finite(0)}}
	return Chart{
		Key:    key,
		Drawn:  len(lines),
		Tenths: len(tenths) > 0,
		Height: linesHeight,
		Option: Option{
			Grid:   []opts.Grid{{Top: "28", Bottom: "56"}},
			XAxis:  []opts.XAxis{axis},
			YAxis:  []opts.YAxis{{Type: "value", Min: 0, Max: 100, MinInterval: 20, MaxInterval: 20, AxisLabel: &opts.AxisLabel{Formatter: types.FuncStr("{value}%")}}},
			Series: drawn(shape{ShapeLevel, []Mark{level}}, shape{ShapeLine, lines}, shape{ShapeLine + ":tenth", tenths}, shape{ShapeDots, dots}),
		},
	}
}

func forceUnit(sys units.System) string {
	_, unit := units.ForceIn(0, sys)
	return unit
}

// fitted lists the groups with a Weibull line, at most those with most pulls, in
// their order.
func (b onBench) fitted() []int {
	var list []int
	for i, g := range b.Groups {
		if g.Weibull != nil {
			list = append(list, i)
		}
	}
	slices.SortStableFunc(list, func(i, j int) int { return b.Groups[j].N - b.Groups[i].N })
	list = list[:min(mostLines, len(list))]
	slices.Sort(list)
	return list
}

// Fitted counts the groups whose Weibull line can be drawn.
func Fitted(a bench.Answer) int { return len(onBench{Answer: a}.fitted()) }

// Beside draws bench and water: each level as a cross of its two 95% intervals,
// to the right what it holds on the bench, upward how often it broke on the water.
func Beside(side bench.BesideWater, sys units.System) Chart {
	b := onBench{bench.Answer{Relative: side.Of == bench.OfUnknotted}, sys, nil}
	numbers := prose.BesideTable(side, sys)
	var marks []Mark
	var values []float64
	top := 0.0
	for i, p := range side.Points {
		mark := Mark{Name: p.Level, Label: p.Level, Tone: 1, Detail: pairs(numbers, i), Value: []*float64{finite(b.scale(p.Strength)), finite(100 * p.Share), nil, nil, nil, nil}}
		values = append(values, p.Strength)
		top = math.Max(top, 100*p.Share)
		if p.Low != nil && p.High != nil {
			mark.Value[2], mark.Value[3] = finite(b.scale(*p.Low)), finite(b.scale(*p.High))
			values = append(values, *p.Low, *p.High)
		}
		if p.ShareLow != nil && p.ShareTop != nil {
			mark.Value[4], mark.Value[5] = finite(100**p.ShareLow), finite(100**p.ShareTop)
			top = math.Max(top, 100**p.ShareTop)
		}
		marks = append(marks, mark)
	}
	axis := b.strengthAxis(values)
	axis.NameLocation, axis.Name = "middle", "On the bench: share of unknotted strength"
	if !b.Relative {
		axis.Name = "On the bench: mean force (" + forceUnit(sys) + ")"
	}
	rates := reaching(math.Min(top, 100), rateAxes)
	return Chart{
		Drawn:  len(marks),
		Height: linesHeight,
		Option: Option{
			Grid:   []opts.Grid{{Top: "40", Bottom: "56"}},
			XAxis:  []opts.XAxis{axis},
			YAxis:  []opts.YAxis{{Type: "value", Name: "Junction breaks, of loads", NameLocation: "end", Min: 0, Max: rates.end, MinInterval: rates.step, MaxInterval: rates.step, AxisLabel: &opts.AxisLabel{Formatter: types.FuncStr("{value}%")}}},
			Series: drawn(shape{ShapeCross, marks}),
		},
	}
}
