package charts

import (
	"math"
	"strconv"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"rigtally/analytics/plan"
	"rigtally/internal/units"
	"rigtally/prose"
)

// Tones of the parts of a loss.
const (
	toneTangles = 2
	toneBreaks  = 3
	toneReties  = 4
)

// planHeight is that of a chart of losses without the bars of chances below.
const planHeight = ratesTop + ratesHeight + 46

// PlanLoss draws what a tag loses over the length at which it is tied: all together in
// its band, each part as a line, and where the plan is sure of that the chance of each
// length to be the best below. It needs at least two points.
func PlanLoss(a plan.Answer, sys units.System) Chart {
	c := newPlanChart(a, sys)
	axis := opts.XAxis{Type: "value", SplitNumber: 6, Min: c.from, Max: c.to}
	named := axis
	_, unit := units.LengthIn(0, sys)
	named.Name, named.NameLocation = "Tag as tied ("+unit+")", "middle"
	loss := c.lossAxis()
	chart := Chart{Height: planHeight, Key: c.key(), Option: Option{
		Grid:  []opts.Grid{{Top: strconv.Itoa(ratesTop), Height: strconv.Itoa(ratesHeight)}},
		XAxis: []opts.XAxis{named},
		YAxis: []opts.YAxis{{Type: "value", Min: 0, Max: loss.end, MinInterval: loss.step, MaxInterval: loss.step}},
	}}
	if a.Best >= 0 {
		close := a.Points[a.Best].Loss + plan.Close
		chart.Option.Series = append(chart.Option.Series, custom(ShapeLevel, Mark{Name: "a minute more than the best", Label: "a minute more than the best", Value: []*float64{finite(close), finite(0)}}))
	}
	chart.Option.Series = append(chart.Option.Series, c.curves()...)
	if a.Best >= 0 {
		best := a.Points[a.Best]
		chart.Option.Series = append(chart.Option.Series, custom(ShapeDots, Mark{Name: units.FormatLength(best.LengthMM, sys), Label: units.FormatLength(best.LengthMM, sys), Tone: 1,
			Value: []*float64{finite(c.number(best.LengthMM)), finite(best.Loss), finite(7)}}))
	}
	chart.Option.Series = append(chart.Option.Series, custom(ShapeStop, c.stops()...))
	if a.Sure && a.Best >= 0 {
		axis.AxisLabel = &opts.AxisLabel{Show: opts.Bool(false)}
		named.GridIndex = 1
		chart.Height = lengthHeight
		chart.Option.Grid = append(chart.Option.Grid, opts.Grid{Top: strconv.Itoa(barsTop), Height: strconv.Itoa(barsHeight)})
		chart.Option.XAxis = []opts.XAxis{axis, named}
		end := c.chanceAxis()
		chart.Option.YAxis = append(chart.Option.YAxis, opts.YAxis{Type: "value", Name: "Chance to be the best", NameLocation: "end", Min: 0, Max: end.end, MinInterval: end.step, MaxInterval: end.step,
			GridIndex: 1, AxisLabel: &opts.AxisLabel{Formatter: types.FuncStr("{value}%")}})
		chart.Option.Series = append(chart.Option.Series, echarts.SingleSeries{Type: types.ChartCustom, Id: ShapeBars, Data: c.bars(), XAxisIndex: 1, YAxisIndex: 1})
	}
	return chart
}

func custom(id string, marks ...Mark) echarts.SingleSeries {
	return echarts.SingleSeries{Type: types.ChartCustom, Id: id, Data: marks}
}

// planChart is a plan on its way to a chart, in the person's units.
type planChart struct {
	plan.Answer
	sys      units.System
	from, to float64
}

func newPlanChart(a plan.Answer, sys units.System) planChart {
	c := planChart{Answer: a, sys: sys}
	c.from, c.to = ends(c.number(a.Points[0].LengthMM), c.number(a.Points[len(a.Points)-1].LengthMM))
	return c
}

func (c planChart) number(mm float64) float64 { v, _ := units.LengthIn(mm, c.sys); return v }

// lossAxis reaches the losses, and most of their band.
func (c planChart) lossAxis() axis {
	top := 0.0
	for _, p := range c.Points {
		if !p.Beyond || c.Best < 0 {
			top = math.Max(top, p.Loss)
		}
	}
	end := top
	for _, p := range c.Points {
		if p.High != nil && !p.Beyond {
			end = math.Max(end, math.Min(*p.High, 1.5*top))
		}
	}
	return reaching(1.05*end, rateAxes)
}

// curves are the whole loss, in two parts where some of it was never fished, and its causes.
func (c planChart) curves() []echarts.SingleSeries {
	parts := []struct {
		tone int
		of   func(plan.Point) float64
	}{
		{toneTangles, func(p plan.Point) float64 { return p.Tangles }},
		{toneBreaks, func(p plan.Point) float64 { return p.Breaks }},
		{toneReties, func(p plan.Point) float64 { return p.Renewal }},
	}
	end := c.lossAxis().end
	var all []echarts.SingleSeries
	for i, part := range parts {
		m := Mark{Tone: part.tone, Value: []*float64{finite(c.number(c.Points[0].LengthMM)), finite(0)}}
		for _, p := range c.Points {
			m.Points = append(m.Points, []*float64{finite(c.number(p.LengthMM)), finite(math.Min(part.of(p), end))})
		}
		all = append(all, custom(ShapeLine+":"+strconv.Itoa(i), m))
	}
	whole := Mark{Value: []*float64{finite(c.number(c.Points[0].LengthMM)), finite(0)}}
	beyond := Mark{Tone: 1, Dash: true, Value: whole.Value}
	for i, p := range c.Points {
		at := []*float64{finite(c.number(p.LengthMM)), finite(math.Min(p.Loss, end)), p.Low, p.High}
		if !p.Beyond {
			whole.Points = append(whole.Points, at)
		}
		near := i > 0 && c.Points[i-1].Beyond || i < len(c.Points)-1 && c.Points[i+1].Beyond
		if p.Beyond || near {
			beyond.Points = append(beyond.Points, at[:2])
		}
	}
	if len(whole.Points) > 0 {
		all = append(all, custom(ShapeCurve, whole))
	}
	if len(beyond.Points) > 1 {
		all = append(all, custom(ShapeLine+":beyond", beyond))
	}
	return all
}

// stops are the places on the curve that tell their numbers.
func (c planChart) stops() []Mark {
	numbers := prose.PlanTable(c.Answer, c.sys, len(c.Points))
	marks := make([]Mark, len(c.Points))
	for i, p := range c.Points {
		from, to := c.halfway(i)
		marks[i] = Mark{Name: numbers.Rows[i].Cells[0].Text, Detail: pairs(numbers, i), Value: []*float64{finite(c.number(p.LengthMM)), finite(p.Loss), finite(from), finite(to)}}
	}
	return marks
}

// halfway is the stretch of the axis that is nearest to a point.
func (c planChart) halfway(i int) (from, to float64) {
	from, to = c.from, c.to
	if i > 0 {
		from = (c.number(c.Points[i-1].LengthMM) + c.number(c.Points[i].LengthMM)) / 2
	}
	if i < len(c.Points)-1 {
		to = (c.number(c.Points[i+1].LengthMM) + c.number(c.Points[i].LengthMM)) / 2
	}
	return from, to
}

func (c planChart) bars() []Mark {
	var marks []Mark
	for i, p := range c.Points {
		if p.Best != nil && *p.Best > 0 {
			from, to := c.halfway(i)
			m := Mark{Value: []*float64{finite(c.number(p.LengthMM)), finite(100 * *p.Best), finite(from), finite(to)}}
			if i == c.Best {
				m.Tone = 1
			}
			marks = append(marks, m)
		}
	}
	return marks
}

func (c planChart) chanceAxis() axis {
	most := 0.0
	for _, p := range c.Points {
		if p.Best != nil {
			most = math.Max(most, 100**p.Best)
		}
	}
	if most > 80 {
		return axis{100, 50}
	}
	return reaching(most, exposureAxes)
}

func (c planChart) key() []Key {
	list := []Key{{"line-1", "all together"}}
	if c.Sure {
		list = append(list, Key{"band", "its 95% band"})
	}
	list = append(list, Key{"line-2", "tangles"}, Key{"line-3", "breaks"}, Key{"line-4", "re-ties"})
	for _, p := range c.Points {
		if p.Beyond {
			return append(list, Key{"dash-1", "never fished"})
		}
	}
	return list
}

// PlanMoves draws how far the best length moves when one number is another, and beside
// that what keeping to the planned length would cost then.
func PlanMoves(a plan.Answer, sys units.System) Chart {
	best := a.Points[a.Best].LengthMM
	number := func(mm float64) float64 { v, _ := units.LengthIn(mm, sys); return v }
	from, to, most := best, best, 0.0
	for _, v := range a.Moves {
		from = math.Min(from, math.Min(v.At[0].LengthMM, v.At[1].LengthMM))
		to = math.Max(to, math.Max(v.At[0].LengthMM, v.At[1].LengthMM))
		most = math.Max(most, v.Costs)
	}
	var rows []Row
	var marks []Mark
	var names []string
	moves := prose.PlanMoves(a, sys)
	for i, v := range a.Moves {
		low, high := math.Min(v.At[0].LengthMM, v.At[1].LengthMM), math.Max(v.At[0].LengthMM, v.At[1].LengthMM)
		m := Mark{Name: moves.Rows[i].Cells[0].Text, Look: LookAlone, Note: moves.Rows[i].Cells[5].Text, Value: []*float64{finite(number(best)), finite(float64(i)),
			finite(number(math.Min(low, best))), finite(number(math.Max(high, best))), finite(leastRadius)}}
		if v.Shift(best) > 0 {
			m.Label = prose.PlanRange(low, high, sys)
		}
		if most > 0 {
			m.Share = finite(v.Costs / most)
		}
		for _, c := range moves.Columns[1:] {
			m.Detail = append(m.Detail, []string{c.Title, moves.Cell(i, c.Key).Text})
		}
		marks = append(marks, m)
		rows = append(rows, Row{Name: prose.PlanShort(v.Key)})
		names = append(names, strconv.Itoa(i)) // the script writes the labels
	}
	step := 20.0
	if sys == units.US {
		step = 1
	}
	low, high := step*math.Floor(number(from)/step-0.25), step*math.Ceil(number(to)/step+0.25)
	line := Mark{Name: "the plan", Value: []*float64{finite(number(best)), finite(0)}}
	return Chart{
		Rows:   rows,
		Behind: "Min/hour",
		Height: aboveRows + rowHeight*len(rows) + belowRows,
		Option: Option{
			Grid:   []opts.Grid{{Top: strconv.Itoa(aboveRows), Bottom: strconv.Itoa(belowRows)}},
			XAxis:  []opts.XAxis{{Type: "value", Min: low, Max: high, SplitNumber: 4}},
			YAxis:  []opts.YAxis{{Type: "category", Inverse: opts.Bool(true), Data: names}},
			Series: []echarts.SingleSeries{custom(ShapeLevel, line), custom(ShapeInterval, marks...)},
		},
	}
}
