package charts

import (
	"cmp"
	"math"
	"slices"

	"rigtally/analytics/bench"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

const (
	pullClear   = 52 // px between the mean and the name: room for pulls
	linesHeight = 420
	mostLines   = 4
)

// onBench is an answer of the bench on its way to a chart.
type onBench struct {
	bench.Answer
	sys units.System
}

// scale turns a strength into the chart's number.
func (b onBench) scale(v float64) float64 {
	if b.Relative {
		return 100 * v
	}
	n, _ := units.In(units.Force, v, b.sys)
	return n
}

func (b onBench) span(low, high *float64) *Span {
	if low == nil || high == nil {
		return nil
	}
	return &Span{b.scale(*low), b.scale(*high)}
}

// strengthAxis is the axis of strengths, which need not start at 0: dots have no length. It reaches
// every mark, and an interval as far as the marks themselves are apart: of two pulls it may be a
// dozen times as long, and would squeeze the others flat.
func (b onBench) strengthAxis(title string, marks ...Mark) Axis {
	points := noSpan
	for _, m := range marks {
		points = points.with(m.X)
	}
	if len(marks) == 0 {
		points = Span{0, 1}
	}
	all, far := points, math.Max(points.High-points.Low, 0.2*points.High)
	for _, m := range marks {
		if m.Across != nil {
			all = all.with(math.Max(m.Across.Low, points.Low-far), math.Min(m.Across.High, points.High+far))
		}
	}
	step, unit := stepFor(all.High-all.Low), ""
	if b.Relative {
		unit = "%"
	}
	return numbers(title, roundTo(math.Max(0, math.Floor(all.Low/step-0.1)*step)), roundTo(math.Ceil(all.High/step+0.1)*step), step, unit)
}

// PullLink gives the address to which a click on a group of pulls leads.
type PullLink func(bench.Group) string

// Dots draws each pull as a dot on its group's row, and below the dots the
// group's mean with its 95% interval.
func Dots(a bench.Answer, sys units.System, link PullLink) Chart {
	b := onBench{a, sys}
	var rows []Row
	var pulls, means []Mark
	numbers := prose.BenchTable(a, sys)
	spread := math.Max(b.spread(), 1e-9)
	for i, g := range a.Groups {
		stack := map[int]int{}
		for _, p := range g.Points {
			m := b.pull(g, p)
			near := int(math.Round(m.X * 40 / spread))
			m.Y, m.Up = float64(i), 21+9*float64(min(stack[near], 3))
			stack[near]++
			pulls = append(pulls, m)
		}
		row := Row{Name: prose.BenchLevel(a, g, sys), Note: prose.Several(g.N, "pull")}
		if g.N > 0 {
			row.Value = prose.Strength(g.Mean, a.Relative, sys)
			m := Mark{Name: row.Name, X: b.scale(g.Mean), Y: float64(i), Across: b.span(g.MeanLow, g.MeanHigh), Radius: 6, Look: b.look(i), Detail: pairs(numbers, i)}
			if link != nil {
				m.Href = link(g)
			}
			m.Knot = knotOf(a.By, g.Level)
			means = append(means, m)
		}
		rows = append(rows, row)
	}
	layers := append(b.reference(), Layer{Shape: Points, Marks: means}, Layer{Shape: Points, Tone: 2, Small: true, Marks: pulls})
	c := lyingApart(rows, b.strengthAxis("", append(means, pulls...)...), "", pullClear, layers...)
	c.Key, c.Drawn = b.dotKey(means, pulls), len(rows)
	return c
}

// spread is how far the strengths of an answer reach, in the chart's numbers.
func (b onBench) spread() float64 {
	all := noSpan
	for _, g := range b.Groups {
		for _, p := range g.Points {
			all = all.with(b.scale(p.Strength))
		}
	}
	return all.High - all.Low
}

// pull makes the mark of one pull.
func (b onBench) pull(g bench.Group, p bench.Point) Mark {
	m := Mark{Name: prose.BenchLevel(b.Answer, g, b.sys), X: b.scale(p.Strength), Radius: 4, Knot: knotOf(b.By, g.Level), Detail: [][]string{
		{"Force", units.Format(units.Force, p.ForceN, b.sys)}, {"Tippet", units.FormatTippet(p.TippetMM)}, {"Ended", prose.PullEnded(p.Ending, p.BrokeAt)}}}
	if b.Relative {
		m.Detail = append(m.Detail, []string{"Of unknotted", prose.Strength(p.Strength, true, b.sys)})
	}
	switch {
	case p.Ending == journal.PulledSlipped:
		m.Look = LookSlipped
	case p.Ending == journal.PulledHeld || p.BrokeAt == journal.PullBrokeGrip:
		m.Look = LookBeyond
	}
	return m
}

func (b onBench) look(i int) string {
	return lookOf(i == b.Reference, len(b.Groups) > 1, cmp.Or(b.Groups[i].Versus, &bench.Comparison{}).Verdict)
}

// reference is the line at the mean of the group that others are compared with.
func (b onBench) reference() []Layer {
	if b.Reference < 0 || len(b.Groups) < 2 || b.Groups[b.Reference].N == 0 {
		return nil
	}
	g := b.Groups[b.Reference]
	return []Layer{level(b.scale(g.Mean), nowhere, "mean of "+prose.BenchLevel(b.Answer, g, b.sys))}
}

func (b onBench) dotKey(means, pulls []Mark) []Key {
	list := []Key{{"dot-2", "a pull that broke"}}
	if len(pulls) > 0 && pulls[0].Knot != "" {
		list[0] = Key{LookFilled, "small: a pull that broke"}
	}
	for _, k := range []Key{{LookSlipped, "slipped"}, {LookBeyond, "holds at least that"}} {
		if slices.ContainsFunc(pulls, func(m Mark) bool { return m.Look == k.Look }) {
			list = append(list, k)
		}
	}
	if b.Reference < 0 || len(b.Groups) < 2 {
		return list
	}
	return append(list, verdictKey(means, "mean of ", prose.BenchLevel(b.Answer, b.Groups[b.Reference], b.sys))...)
}

// WeibullLines draws for each group by itself, among the others, the share of pulls that fails up
// to a strength: its Weibull line with its pulls as dots, and at one in ten the interval of the
// strength that one pull in ten does not reach. Of many groups it draws those with most pulls.
func WeibullLines(a bench.Answer, sys units.System) Chart {
	b := onBench{a, sys}
	var lines []Layer
	var own [][]Layer
	var all []Mark
	for _, i := range b.fitted() {
		g := a.Groups[i]
		l := Layer{Shape: Line, Name: prose.BenchLevel(a, g, sys), Tone: 1, Knot: knotOf(a.By, g.Level)}
		tenth, pulls := l, l
		for _, p := range g.Weibull.Line {
			l.Marks = append(l.Marks, Mark{X: b.scale(p.Strength), Y: 100 * p.Share})
		}
		tenth.Marks = []Mark{{X: b.scale(g.Weibull.B10Interval.Low), Y: 10}, {X: b.scale(g.Weibull.B10Interval.High), Y: 10}}
		pulls.Shape, pulls.Small = Points, true
		for _, p := range g.Points {
			if !math.IsNaN(p.Share) {
				m := b.pull(g, p)
				m.Look, m.Y = "", 100*p.Share
				pulls.Marks = append(pulls.Marks, m)
			}
		}
		all = slices.Concat(all, l.Marks, tenth.Marks, pulls.Marks)
		lines, own = append(lines, l), append(own, []Layer{level(nowhere, 10, "one in ten"), tenth, pulls})
	}
	title := "Force (" + forceUnit(sys) + ")"
	if a.Relative {
		title = "Strength, of unknotted line"
	}
	c := multiples(b.strengthAxis(title, all...), numbers("", 0, 100, 50, "%"), 34, lines, func(i int) []Layer { return own[i] })
	c.Drawn = len(lines)
	return c
}

func forceUnit(sys units.System) string {
	_, unit := units.In(units.Force, 0, sys)
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
	b := onBench{bench.Answer{Relative: side.Of == bench.OfUnknotted}, sys}
	numbers := prose.BesideTable(side, sys)
	var marks []Mark
	top := 0.0
	for i, p := range side.Points {
		m := Mark{Name: p.Level, Label: p.Level, X: b.scale(p.Strength), Y: 100 * p.Share, Radius: 6, Across: b.span(p.Low, p.High), Detail: pairs(numbers, i), Knot: knotOf([]journal.Factor{side.Factor}, []journal.Level{{Word: p.Level}})}
		top = math.Max(top, m.Y)
		if p.ShareLow != nil && p.ShareTop != nil {
			m.Upright = &Span{100 * *p.ShareLow, 100 * *p.ShareTop}
			top = math.Max(top, m.Upright.High)
		}
		marks = append(marks, m)
	}
	title := "On the bench: share of unknotted strength"
	if !b.Relative {
		title = "On the bench: mean force (" + forceUnit(sys) + ")"
	}
	c := upright(linesHeight, Field{Top: 40, Height: linesHeight - 96, X: b.strengthAxis(title, marks...),
		Y: reaching(math.Min(top, 100), rateAxes).axis("Breaks at the knot, of pulls", "%"), Layers: []Layer{{Shape: Points, Tone: 1, Marks: marks}}})
	c.Drawn = len(marks)
	return c
}
