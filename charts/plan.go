package charts

import (
	"cmp"
	"fmt"
	"math"

	"rigtally/analytics/plan"
	"rigtally/internal/units"
	"rigtally/prose"
)

// PlanLoss draws what a tag loses over the length at which it is tied: all together in
// its band, each part as a line, and where the plan is sure of that the chance of each
// length to be the best below. It needs at least two points.
func PlanLoss(a plan.Answer, sys units.System) Chart {
	c := newPlanChart(a, sys)
	_, unit := units.In(units.Length, 0, sys)
	x := tagAxis("Tag as tied ("+unit+")", c.from, c.to)
	y := c.loss.axis("", "")
	var layers []Layer
	if a.Best >= 0 {
		layers = append(layers, level(nowhere, a.Points[a.Best].Loss+plan.Close, "a minute more than the best"))
	}
	layers = append(layers, c.curves()...)
	if a.Best >= 0 {
		best := a.Points[a.Best]
		name := units.FormatLength(best.LengthMM, sys)
		layers = append(layers, Layer{Shape: Points, Tone: 1, Marks: []Mark{{Name: name, Label: name, X: c.number(best.LengthMM), Y: best.Loss, Radius: 7}}})
	}
	layers = append(layers, Layer{Shape: Stops, Marks: c.stops()})
	chart := upright(hungTop+ratesHeight+8, Field{Top: hungTop, Height: ratesHeight, X: x, Y: y, Layers: layers})
	if a.Sure && a.Best >= 0 {
		chart = overBars(x, y, c.chanceAxis().axis("Chance to be the best", "%"), Layer{Shape: Bars, Marks: c.bars()}, layers...)
	}
	if a.Sure {
		chart.Key = []Key{{LookBand, "95% band of all together, fainter where less is known"}}
	}
	return chart
}

// planChart is a plan on its way to a chart, in the person's units.
type planChart struct {
	plan.Answer
	sys      units.System
	from, to float64
	loss     reach
}

func newPlanChart(a plan.Answer, sys units.System) planChart {
	c := planChart{Answer: a, sys: sys}
	c.from, c.to = ends(c.number(a.Points[0].LengthMM), c.number(a.Points[len(a.Points)-1].LengthMM))
	c.loss = c.lossAxis()
	return c
}

func (c planChart) number(mm float64) float64 { v, _ := units.In(units.Length, mm, c.sys); return v }

// lossAxis reaches the losses, and most of their band.
func (c planChart) lossAxis() reach {
	top := 0.0
	for _, p := range c.Points {
		if !p.Beyond || c.Best < 0 {
			top = math.Max(top, p.Loss)
		}
	}
	top = math.Min(top, 60) // an hour has no more
	end := top
	for _, p := range c.Points {
		if p.High != nil && !p.Beyond {
			end = math.Max(end, math.Min(*p.High, 1.5*top))
		}
	}
	return reaching(1.05*end, rateAxes)
}

// curves are the causes of loss and the whole of it, in two parts where some of it was
// never fished.
func (c planChart) curves() []Layer {
	var tangles, breaks, reties, whole []Mark
	beyond := [][]Mark{nil} // below and above what was fished
	for i, p := range c.Points {
		at := func(loss float64) Mark { return Mark{X: c.number(p.LengthMM), Y: math.Min(loss, c.loss.end)} }
		tangles, breaks, reties = append(tangles, at(p.Tangles)), append(breaks, at(p.Breaks)), append(reties, at(p.Renewal))
		m := at(p.Loss)
		near := i > 0 && c.Points[i-1].Beyond || i < len(c.Points)-1 && c.Points[i+1].Beyond
		last := len(beyond) - 1
		switch {
		case p.Beyond || near:
			beyond[last] = append(beyond[last], m)
		case len(beyond[last]) > 0:
			beyond = append(beyond, nil)
		}
		if !p.Beyond {
			m.Upright = span(p.Low, p.High)
			whole = append(whole, m)
		}
	}
	layers := []Layer{{Shape: Line, Tone: 2, Says: "tangles", Marks: tangles}, {Shape: Line, Tone: 3, Says: "breaks", Marks: breaks}, {Shape: Line, Tone: 4, Says: "re-ties", Marks: reties}}
	if len(whole) > 0 {
		layers = append(layers, Layer{Shape: Line, Tone: 1, Says: "all together", Marks: whole})
	}
	says := "never fished"
	for _, side := range beyond {
		if len(side) > 1 {
			layers, says = append(layers, Layer{Shape: Line, Tone: 1, Dash: true, Says: says, Marks: side}), ""
		}
	}
	return layers
}

// stops are the places on the curve that tell their numbers.
func (c planChart) stops() []Mark {
	numbers := prose.PlanTable(c.Answer, c.sys, len(c.Points))
	marks := make([]Mark, len(c.Points))
	for i, p := range c.Points {
		marks[i] = Mark{Name: numbers.Rows[i].Cells[0].Text, X: c.number(p.LengthMM), Y: math.Min(p.Loss, c.loss.end), Detail: pairs(numbers, i)}
	}
	widened(marks)
	return marks
}

// bars are the chances of the lengths to be the best, each as wide as the way to the next.
func (c planChart) bars() []Mark {
	var marks []Mark
	half := math.Abs(c.number(c.Points[1].LengthMM)-c.number(c.Points[0].LengthMM)) / 2
	for i, p := range c.Points {
		if p.Best != nil && *p.Best > 0 {
			x := c.number(p.LengthMM)
			m := Mark{X: x, Y: 100 * *p.Best, Wide: &Span{x - half, x + half}}
			if i == c.Best {
				m.Look = LookDiffers
			}
			marks = append(marks, m)
		}
	}
	return marks
}

func (c planChart) chanceAxis() reach {
	top := 100 * most(c.Points, func(p plan.Point) float64 { return *cmp.Or(p.Best, new(float64)) })
	if top > 80 {
		return reach{100, 50}
	}
	return reaching(top, exposureAxes)
}

// mostMoves of a plan are drawn, the dearest; its table has all.
const mostMoves = 3

// PlanMoves draws how far the best length moves when one number is another, and beside
// that what keeping to the planned length would cost then.
func PlanMoves(a plan.Answer, sys units.System) Chart {
	c := planChart{Answer: a, sys: sys}
	best := a.Points[a.Best].LengthMM
	all := Span{best, best}
	for _, v := range a.Moves {
		all = all.with(v.At[0].LengthMM, v.At[1].LengthMM)
	}
	dearest := most(a.Moves, func(v plan.Move) float64 { return v.Costs })
	var rows []Row
	var marks []Mark
	moves := prose.PlanMoves(a, sys)
	for i, v := range a.Moves[:min(mostMoves, len(a.Moves))] {
		cells := moves.Rows[i].Cells
		at := noSpan.with(v.At[0].LengthMM, v.At[1].LengthMM)
		row := Row{Name: prose.PlanShort(v.Key)}
		if v.Shift(best) > 0 {
			row.Value = prose.PlanRange(at.Low, at.High, sys)
		}
		m := Mark{Name: cells[0].Text, X: c.number(best), Y: float64(i), Across: &Span{c.number(math.Min(at.Low, best)), c.number(math.Max(at.High, best))},
			Look: LookAlone, Radius: leastRadius, Note: cells[5].Text}
		if dearest > 0 {
			m.Share = v.Costs / dearest
		}
		for _, c := range moves.Columns[1:] {
			m.Detail = append(m.Detail, []string{c.Title, moves.Cell(i, c.Key).Text})
		}
		marks, rows = append(marks, m), append(rows, row)
	}
	step := 20.0
	if sys == units.US {
		step = 1
	}
	low, high := step*math.Floor(c.number(all.Low)/step-0.25), step*math.Ceil(c.number(all.High)/step+0.25)
	chart := lying(rows, numbers("", low, high, math.Max(step, stepFor(high-low)), ""), "Min/hour", level(c.number(best), nowhere, "the plan"), Layer{Shape: Points, Marks: marks})
	if more := len(a.Moves) - len(marks); more > 0 {
		chart.Key = []Key{{LookMore, fmt.Sprintf("%d more move it less: see the table", more)}}
	}
	return chart
}
