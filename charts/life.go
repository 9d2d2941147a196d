package charts

import (
	"fmt"
	"math"
	"strconv"

	"rigtally/analytics/life"
	"rigtally/internal/units"
	"rigtally/prose"
)

const (
	mostLives  = 4  // groups in a chart of lives: as many as there are tones
	riskRow    = 40 // px: a name, and its numbers below it
	riskTop    = ratesTop + ratesHeight + 60
	leastShown = 5 // ties still followed, up to where a line is drawn
)

// Life draws the share of tags that last longer than a time, in steps within its 95%
// band, and below it how many were still followed. Of many groups it draws the four
// that were fished most.
func Life(a life.Answer, sys units.System) Chart {
	l := newLifeChart(a, sys)
	title := "Hours fished since it was tied"
	if a.In == life.Loads {
		title = "Loads since it was tied"
	}
	across := numbers(title, 0, l.end, l.step, "")
	bare := across
	bare.Bare, bare.Title, bare.Ticks = true, "", nil
	rows := float64(riskRow * len(l.drawn))
	lives := Field{Top: ratesTop, Height: ratesHeight, X: across, Y: numbers("", l.floor, 100, 20, "%")}
	risk := Field{Top: riskTop, Height: rows, X: bare, Y: Axis{To: float64(len(l.drawn)), Bare: true}}
	var key []Key
	for i, g := range l.drawn {
		key = append(key, Key{fmt.Sprintf("line-%d", i+1), l.name(g)})
		lives.Layers = append(lives.Layers, Layer{Shape: Line, Name: l.name(g), Tone: i + 1, Step: true, Marks: l.line(g)})
		top := float64(len(l.drawn) - i)
		risk.Layers = append(risk.Layers, Layer{Shape: Words, Tone: i + 1, Dash: true, Marks: []Mark{{Label: l.name(g) + ", still followed", Y: top - 0.25}}},
			Layer{Shape: Words, Marks: l.followed(g, top-0.7)})
	}
	lives.Layers = append(lives.Layers, Layer{Shape: Stops, Marks: l.stops()})
	c := upright(riskTop+rows+12, lives, risk)
	c.Key, c.Drawn = key, len(l.drawn)
	return c
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
	l.drawn = greatest(mostLives, len(a.Groups), func(i int) float64 { return a.Groups[i].Total })
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

// line goes through the steps of a group's survival, on to where it is still followed.
func (l lifeChart) line(g int) []Mark {
	marks := []Mark{{Y: 100, Upright: &Span{100, 100}}}
	end := l.reach(g)
	for _, p := range l.Groups[g].Survival.Steps {
		if p.Time > end {
			break
		}
		m := Mark{X: p.Time, Y: 100 * p.Share}
		if p.HasIntervals {
			m.Upright = &Span{100 * p.Low, 100 * p.High}
		}
		marks = append(marks, m)
	}
	last := marks[len(marks)-1]
	last.X = end
	return append(marks, last)
}

// stops tell every group at each of the marks and halfway between.
func (l lifeChart) stops() []Mark {
	var marks []Mark
	for t := 0.0; t <= l.end+1e-9; t += l.step / 2 {
		m := Mark{Name: "After " + prose.LifeTime(l.In, t), X: t, Y: 100 * l.Groups[l.drawn[0]].Mark(t).Share}
		for _, g := range l.drawn {
			m.Detail = append(m.Detail, []string{l.name(g), prose.LifeDetail(l.Answer, l.Groups[g], t)})
		}
		marks = append(marks, m)
	}
	return marks
}

// followed are the numbers of a group still followed, below the marks.
func (l lifeChart) followed(g int, y float64) []Mark {
	var marks []Mark
	for _, t := range l.Marks {
		marks = append(marks, Mark{X: t, Y: y, Label: strconv.Itoa(l.Groups[g].Mark(t).AtRisk)})
	}
	return marks
}
