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

// widest is how far from 1 the axis of ratios reaches at most, in doublings.
const widest = 4

// Ratios draws each group's corrected ratio to the reference with its 95%
// interval, the uncorrected one as a light ring beside it, on an axis on which
// twice and half lie equally far from 1.
//
// The script sets the base of the axis, which go-echarts leaves out.
func Ratios(a analytics.RateAnswer, sys units.System, link Link) Chart {
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
		if value, label := p.ratio(i, len(rows)); value != nil {
			mark := p.behind(i, p.mark(i, value...))
			mark.Label = label
			marks = append(marks, mark)
		}
		rows = append(rows, Row{Name: p.rowName(g)})
	}
	names := make([]string, len(rows))
	for i := range rows {
		names[i] = strconv.Itoa(i) // the script writes the labels
	}
	reach := p.doublings()
	return Chart{
		Key:    append(p.key(marks), Key{LookPlain, "uncorrected"}),
		Drawn:  len(drawn),
		Ratios: true,
		Rows:   rows,
		Behind: capital(a.Outcome.Exposure),
		Height: aboveRows + rowHeight*len(rows) + belowRows,
		Option: Option{
			Grid:   []opts.Grid{{Top: strconv.Itoa(aboveRows), Bottom: strconv.Itoa(belowRows)}},
			XAxis:  []opts.XAxis{{Type: "log", Min: math.Exp2(-reach), Max: math.Exp2(reach)}},
			YAxis:  []opts.YAxis{{Type: "category", Inverse: opts.Bool(true), Data: names}},
			Series: append(p.one(), echarts.SingleSeries{Type: types.ChartCustom, Id: ShapeInterval, Data: marks}),
		},
	}
}

// ratio returns the numbers of a group's mark and its label; none when there is
// no corrected ratio.
func (p picture) ratio(i, row int) ([]*float64, string) {
	g := p.Groups[i]
	at := finite(float64(row))
	if i == p.Reference {
		return []*float64{finite(1), at, nil, nil, p.radius(g), nil}, "1"
	}
	c := g.Corrected
	if c == nil || c.Ratio == nil || *c.Ratio <= 0 {
		return nil, ""
	}
	low := c.Low
	if low != nil && *low <= 0 {
		low = finite(math.Exp2(-2 * widest))
	}
	var plain *float64
	if v := g.Versus; v != nil && v.Ratio != nil && *v.Ratio > 0 {
		plain = v.Ratio
	}
	return []*float64{c.Ratio, at, low, c.High, p.radius(g), plain}, prose.Ratio(*c.Ratio)
}

// doublings is how far the axis reaches: to every ratio, and to the intervals of
// the groups that are well known.
func (p picture) doublings() float64 {
	reach := 1.0
	most := p.mostExposure()
	far := func(v *float64) {
		if v != nil && *v > 0 {
			reach = math.Max(reach, math.Ceil(math.Abs(math.Log2(*v))))
		}
	}
	for _, g := range p.Groups {
		if g.Corrected == nil {
			continue
		}
		far(g.Corrected.Ratio)
		far(g.Versus.Ratio)
		if g.Exposure >= wellKnown*most {
			far(g.Corrected.Low)
			far(g.Corrected.High)
		}
	}
	return math.Min(reach, widest)
}

// one is the line at which a group is like the reference.
func (p picture) one() []echarts.SingleSeries {
	line := Mark{Name: prose.Levels(p.By, p.Groups[p.Reference].Level, p.sys), Value: []*float64{finite(1), finite(0)}}
	return []echarts.SingleSeries{{Type: types.ChartCustom, Id: ShapeLevel, Data: []Mark{line}}}
}
