package charts

import (
	"math"
	"strconv"

	"rigtally/analytics/life"
	"rigtally/internal/table"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

const (
	mostLives  = 4 // groups in a chart of lives
	leastShown = 5 // ties still followed, up to where a line is drawn
)

// Life draws the share of tags that last longer than a time, each group by itself among the
// others, in steps within a ribbon of its 95% intervals, and at its foot how many were still
// followed. Of many groups it draws the four that were fished most.
func Life(a life.Answer, sys units.System) Chart {
	l := newLifeChart(a, sys)
	title := "Hours fished since it was tied"
	if a.In == life.Loads {
		title = "Pulls by fish and snags since it was tied"
	}
	var lines []Layer
	for _, g := range l.drawn {
		line := Layer{Shape: Line, Name: l.name(g), Tone: 1, Step: true, Marks: l.line(g)}
		line.Knot = knotOf([]journal.Factor{a.By.Factor}, []journal.Level{a.Groups[g].Level})
		lines = append(lines, line)
	}
	c := multiples(numbers(title, 0, l.end, l.step, ""), numbers("", l.floor, 100, max(20, (100-l.floor)/2), "%"), 52, lines, func(i int) []Layer {
		return []Layer{{Shape: Words, Marks: l.followed(l.drawn[i])}, {Shape: Stops, Marks: l.stops()}}
	})
	c.Drawn = len(l.drawn)
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
	l.drawn = table.Greatest(mostLives, len(a.Groups), func(i int) float64 { return a.Groups[i].Total })
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
	widened(marks)
	return marks
}

// followed are the numbers of a group still followed, at the foot of its field.
func (l lifeChart) followed(g int) []Mark {
	var marks []Mark
	for _, t := range l.Marks {
		marks = append(marks, Mark{X: t, Y: l.floor, Up: -14, Label: strconv.Itoa(l.Groups[g].Mark(t).AtRisk)})
	}
	return marks
}
