package charts

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	echarts "github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

const (
	rowHeight = 52 // px, so that a row is a target for a thumb
	aboveRows = 28 // px, for the name of the reference line
	mostRows  = 40
	belowRows = 30 // px, for the ticks
)

// Rates draws each group as a point with its 95% interval on a row of its own,
// the point's area following the exposure, and a line at the reference's rate.
// Of many groups it draws the 40 with the most exposure.
// With two factors the rows of one level of the first stand under its heading.
func Rates(a analytics.RateAnswer, sys units.System, link Link) Chart {
	p := newPicture(a, sys, link)
	var rows []Row
	var marks []Mark
	var heading journal.Level
	drawn := p.mostFished(mostRows)
	for _, i := range drawn {
		g := a.Groups[i]
		if len(g.Level) == 2 && (len(rows) == 0 || g.Level[0] != heading) {
			heading = g.Level[0]
			rows = append(rows, Row{Name: prose.Level(a.By[0].Factor, heading, sys), Heading: true})
		}
		low, high := p.interval(g)
		marks = append(marks, p.behind(i, p.mark(i, finite(p.scale(g.Rate)), finite(float64(len(rows))), low, high, p.radius(g))))
		rows = append(rows, Row{Name: p.rowName(g)})
	}
	names := make([]string, len(rows))
	for i := range rows {
		names[i] = strconv.Itoa(i) // the script writes the labels
	}
	end := p.rateAxis()
	return Chart{
		Key:    p.key(marks),
		Drawn:  len(drawn),
		Rows:   rows,
		Behind: capital(a.Outcome.Exposure),
		Height: aboveRows + rowHeight*len(rows) + belowRows,
		Option: Option{
			Grid:   []opts.Grid{{Top: strconv.Itoa(aboveRows), Bottom: strconv.Itoa(belowRows)}},
			XAxis:  []opts.XAxis{{Type: "value", Min: 0, Max: end.end, MinInterval: end.step, MaxInterval: end.step, AxisLabel: p.rateLabels()}},
			YAxis:  []opts.YAxis{{Type: "category", Inverse: opts.Bool(true), Data: names}},
			Series: append(p.reference(), echarts.SingleSeries{Type: types.ChartCustom, Id: ShapeInterval, Data: marks}),
		},
	}
}

// behind adds to a mark what is behind it: the exposure, and how much that is of
// the most that any group has.
func (p picture) behind(i int, m Mark) Mark {
	m.Note = p.exposure(i)
	if most := p.mostExposure(); most > 0 {
		m.Share = finite(p.Groups[i].Exposure / most)
	}
	return m
}

func capital(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// rowName is the level of the last factor; the heading names the first.
func (p picture) rowName(g analytics.Group) string {
	if len(g.Level) == 0 {
		return "All"
	}
	last := len(g.Level) - 1
	return prose.Level(p.By[last].Factor, g.Level[last], p.sys)
}

// mostFished returns the groups with the most exposure, in their natural order.
func (p picture) mostFished(n int) []int {
	order := make([]int, len(p.Groups))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(p.Groups[j].Exposure, p.Groups[i].Exposure) })
	order = order[:min(n, len(order))]
	slices.Sort(order)
	return order
}
