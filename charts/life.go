package charts

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"rigtally/analytics/life"
	"rigtally/internal/units"
	"rigtally/prose"
)

const (
	mostLives  = 4  // groups in a chart of lives: as many as there are tones
	riskRow    = 40 // px: a name, and its numbers below it
	riskTop    = ratesTop + ratesHeight + 70
	leastShown = 5 // ties still followed, up to where a line is drawn
)

// Life draws the share of tags that last longer than a time, in steps within its 95%
// band, and below it how many were still followed. Of many groups it draws the four
// that were fished most.
func Life(a life.Answer, sys units.System) Chart {
	l := newLifeChart(a, sys)
	axis := opts.XAxis{Type: "value", Min: 0, Max: l.end, MinInterval: l.step, MaxInterval: l.step}
	named, bare := axis, axis
	named.Name, named.NameLocation = "Hours fished since it was tied", "middle"
	if a.In == life.Loads {
		named.Name = "Loads since it was tied"
	}
	bare.GridIndex, bare.AxisLabel = 1, &opts.AxisLabel{Show: opts.Bool(false)}
	rows := riskRow * len(l.drawn)
	chart := Chart{Drawn: len(l.drawn), Height: riskTop + rows + 12, Option: Option{
		Grid:  []opts.Grid{{Top: strconv.Itoa(ratesTop), Height: strconv.Itoa(ratesHeight)}, {Top: strconv.Itoa(riskTop), Height: strconv.Itoa(rows)}},
		XAxis: []opts.XAxis{named, bare},
		YAxis: []opts.YAxis{{Type: "value", Min: l.floor, Max: 100, AxisLabel: l.percent(), MinInterval: 20, MaxInterval: 20},
			{Type: "value", Min: 0, Max: len(l.drawn), GridIndex: 1, AxisLabel: &opts.AxisLabel{Show: opts.Bool(false)}, MinInterval: float64(len(l.drawn))}},
	}}
	for tone, g := range l.drawn {
		chart.Key = append(chart.Key, Key{"line-" + strconv.Itoa(tone+1), l.name(g)})
		chart.Option.Series = append(chart.Option.Series, custom(ShapeSteps+":"+strconv.Itoa(tone), l.line(g, tone)))
	}
	chart.Option.Series = append(chart.Option.Series, custom(ShapeStop, l.stops()...),
		echarts.SingleSeries{Type: "custom", Id: ShapeWord, Data: l.risk(), XAxisIndex: 1, YAxisIndex: 1})
	return chart
}

// lifeChart is how long tags last on the way to a chart.
type lifeChart struct {
	life.Answer
	sys       units.System
	drawn     []int // groups, in their order
	end, step float64
	floor     float64 // of the share, in percent
}

func newLifeChart(a life.Answer, sys units.System) lifeChart {
	l := lifeChart{Answer: a, sys: sys, end: 1, step: 1}
	for i := range a.Groups {
		l.drawn = append(l.drawn, i)
	}
	slices.SortStableFunc(l.drawn, func(x, y int) int { return cmp.Compare(a.Groups[y].Total, a.Groups[x].Total) })
	l.drawn = l.drawn[:min(len(l.drawn), mostLives)]
	slices.Sort(l.drawn)
	if n := len(a.Marks); n > 1 {
		l.end, l.step = a.Marks[n-1], a.Marks[1]
	}
	least := 1.0
	for _, g := range l.drawn {
		for _, p := range a.Groups[g].Survival.Steps {
			if p.Time <= l.reach(g) {
				least = math.Min(least, p.Share)
				if p.HasIntervals && p.AtRisk >= 2*leastShown {
					least = math.Min(least, p.Low)
				}
			}
		}
	}
	l.floor = math.Min(80, 20*math.Floor(5*least))
	return l
}

// reach is the time up to which a group's line is drawn.
func (l lifeChart) reach(g int) float64 {
	s := l.Groups[g].Survival
	t := s.TimeAtRisk(leastShown)
	if t == 0 {
		t = s.Longest
	}
	return math.Min(t, l.end)
}

func (l lifeChart) name(g int) string {
	return prose.Level(l.By.Factor, l.Groups[g].Level, l.sys)
}

func (l lifeChart) percent() *opts.AxisLabel { return &opts.AxisLabel{Formatter: "{value}%"} }

func (l lifeChart) line(g, tone int) Mark {
	m := Mark{Name: l.name(g), Tone: tone + 1, Value: []*float64{finite(0), finite(100)}, Points: [][]*float64{{finite(0), finite(100), finite(100), finite(100)}}}
	reach := l.reach(g)
	var last []*float64
	for _, p := range l.Groups[g].Survival.Steps {
		if p.Time > reach {
			break
		}
		last = []*float64{finite(p.Time), finite(100 * p.Share), nil, nil}
		if p.HasIntervals {
			last[2], last[3] = finite(100*p.Low), finite(100*p.High)
		}
		m.Points = append(m.Points, last)
	}
	if last == nil {
		last = m.Points[0]
	}
	return Mark{Name: m.Name, Tone: m.Tone, Value: m.Value, Points: append(m.Points, []*float64{finite(reach), last[1], last[2], last[3]})}
}

// stops tell every group at each of the marks and halfway between.
func (l lifeChart) stops() []Mark {
	var marks []Mark
	half := l.step / 2
	for t := 0.0; t <= l.end+1e-9; t += half {
		m := Mark{Name: "After " + prose.LifeTime(l.In, t), Value: []*float64{finite(t), finite(100 * l.Groups[l.drawn[0]].Mark(t).Share), finite(math.Max(0, t-half/2)), finite(math.Min(l.end, t+half/2))}}
		for _, g := range l.drawn {
			m.Detail = append(m.Detail, []string{l.name(g), prose.LifeDetail(l.Answer, l.Groups[g], t)})
		}
		marks = append(marks, m)
	}
	return marks
}

// risk writes the numbers still followed below the marks, each group's in two lines.
func (l lifeChart) risk() []Mark {
	var marks []Mark
	for i, g := range l.drawn {
		top := float64(len(l.drawn) - i)
		marks = append(marks, Mark{Name: l.name(g), Label: l.name(g) + ", still followed", Look: LookStart, Tone: i + 1, Value: []*float64{finite(0), finite(top - 0.2)}})
		for _, t := range l.Marks {
			n := l.Groups[g].Mark(t).AtRisk
			marks = append(marks, Mark{Name: l.name(g), Label: strconv.Itoa(n), Value: []*float64{finite(t), finite(top - 0.62)}})
		}
	}
	return marks
}
