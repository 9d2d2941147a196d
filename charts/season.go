package charts

import (
	"fmt"
	"math"
	"slices"

	"rigtally/analytics"
	"rigtally/analytics/season"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
	"rigtally/prose/review"
)

// Drawing is a figure of a season, by the name that its words give it.
type Drawing struct {
	Name   string // in addresses and file names
	Title  string
	Spoken string // what it shows, for those who can't see it
	Chart
}

// Season draws the figures of a review that there is something to draw for, under
// the names that its words give them.
func Season(a season.Answer, sys units.System) []Drawing {
	var list []Drawing
	for _, s := range review.Of(a, sys).Sections {
		for _, f := range s.Figures {
			d := Drawing{Name: f.Name, Title: f.Caption, Spoken: f.Spoken}
			switch f.Name {
			case "months":
				d.Chart = seasonMonths(a)
			case "outcomes":
				d.Chart = seasonOutcomes(a)
			case "rigs":
				d.Chart = seasonRigs(a)
			}
			for _, c := range a.Charts {
				if f.Name == "sessions-"+c.Outcome.Key {
					d.Chart = seasonSessions(a, c)
				}
			}
			list = append(list, d)
		}
	}
	return list
}

// spanOf is the interval of a group's rate, nil without one.
func spanOf(g analytics.Group) *Span {
	if !g.HasInterval {
		return nil
	}
	return &Span{g.Low, g.High}
}

// usualReach is what a scale should reach: the rates of all that are well known, and the intervals
// of most.
func usualReach(most float64, groups ...analytics.Group) reach {
	end, longest := 0.0, 0.0
	for _, g := range groups {
		longest = max(longest, g.Exposure)
	}
	var highs []float64
	for _, g := range groups {
		if g.Exposure >= wellKnown/2*longest {
			end = max(end, 1.15*g.Rate)
		}
		if g.HasInterval {
			highs = append(highs, g.High)
		}
	}
	if len(highs) > 0 {
		slices.Sort(highs)
		end = max(end, min(highs[(len(highs)-1)*3/4], most*end))
	}
	return reaching(max(end, 0.1), rateAxes)
}

// seasonMonths draws the fish of each month above the hours fished in it.
func seasonMonths(a season.Answer) Chart {
	const beside = 0.12 // of a month, from its middle
	x := Axis{From: -0.5, To: float64(len(a.Months.List)) - 0.5}
	var fish, bars []Mark
	for i, m := range a.Months.List {
		at := float64(i)
		x.Ticks = append(x.Ticks, Tick{at, m.Month.String()[:3]})
		bars = append(bars, Mark{X: at, Y: m.Hours, Wide: &Span{at - 0.28, at + 0.28}, Label: fmt.Sprintf("%.0f", m.Hours)})
		for _, kind := range []struct {
			groups []analytics.Group
			look   string
			beside float64
		}{{a.Months.Hookups.Groups, LookHollow, -beside}, {a.Months.Landed.Groups, LookDiffers, beside}} {
			for _, g := range kind.groups {
				if int(g.Level[0].Number) == int(m.Month) {
					fish = append(fish, Mark{X: at + kind.beside, Y: g.Rate, Upright: spanOf(g), Look: kind.look, Radius: 4.5})
				}
			}
		}
	}
	rates := usualReach(2, slices.Concat(a.Months.Hookups.Groups, a.Months.Landed.Groups)...)
	bare := x
	bare.Bare = true
	c := upright(ratesTop+270, Field{Top: ratesTop, Height: 180, X: x, Y: rates.axis("An hour", ""), Layers: []Layer{{Shape: Points, Marks: fish}}},
		Field{Top: ratesTop + 224, Height: 40, X: bare, Y: Axis{Title: "Hours fished", To: max(1, 1.1*most(bars, func(m Mark) float64 { return m.Y })), Bare: true}, Layers: []Layer{{Shape: Bars, Marks: bars}}})
	c.Key = []Key{{LookDiffers, "fish landed per hour"}, {LookHollow, "fish hooked per hour"}}
	return c
}

// seasonOutcomes draws the season's rates as multiples of those before.
func seasonOutcomes(a season.Answer) Chart {
	far := 1.0
	var rows []Row
	var marks []Mark
	var better []bool
	for _, o := range a.Outcomes {
		if o.Own.Exposure == 0 || o.Baseline.Rate == 0 {
			continue
		}
		base, rate := o.Baseline.Rate, o.Own.Rate
		if o.Shrunk != nil {
			rate = *o.Shrunk
		}
		m := Mark{X: rate / base, Y: float64(len(rows)), Radius: 5.5, Look: LookOpen}
		if o.Low != nil && o.High != nil {
			m.Across = &Span{*o.Low / base, *o.High / base}
			if m.Across.High > 2 || m.Across.Low < 0.5 {
				far = 2
			}
		}
		switch o.Standing {
		case season.Better:
			m.Look = LookDiffers
		case season.Worse:
			m.Look = LookAgainst
		}
		rows, marks, better = append(rows, Row{Name: prose.Measure(o.Outcome)}), append(marks, m), append(better, o.Outcome.MoreIsBetter())
	}
	x := ratios("", far)
	c := lying(rows, x, "", level(1, nowhere, "alike"), Layer{Shape: Points, Marks: marks})
	f := &c.Fields[0]
	row := f.Height / float64(max(1, len(rows)))
	var washes []Mark
	for i, more := range better {
		at := float64(i) + 0.5 - rowFoot/row
		m := Mark{Wide: &Span{x.From, 1}, Upright: &Span{at - 11/row, at + 11/row}}
		if more {
			m.Wide = &Span{1, x.To}
		}
		washes = append(washes, m)
	}
	f.Layers = append([]Layer{{Shape: Washes, Marks: washes}}, f.Layers...)
	c.Key = []Key{{LookDiffers, "better"}, {LookAgainst, "worse"}, {LookOpen, "not distinguishable"}, {LookWash, "the better side"}}
	return c
}

// seasonRigs draws the rigs fished most, after all of them together.
func seasonRigs(a season.Answer) Chart {
	const apart = 14 // px between fish and tangles
	var rows []Row
	var all []analytics.Group
	var marks []Mark
	add := func(name string, hours float64, landed, tangles *analytics.Group) {
		if landed == nil && tangles == nil {
			return
		}
		for i, g := range []*analytics.Group{landed, tangles} {
			if g != nil {
				all = append(all, *g)
				marks = append(marks, Mark{X: g.Rate, Y: float64(len(rows)), Across: spanOf(*g), Up: apart * float64(1-i), Look: []string{LookDiffers, LookAgainst}[i], Radius: 4.5})
			}
		}
		rows = append(rows, Row{Name: name, Note: prose.FishedHours(hours)})
	}
	own := func(key string) *analytics.Group {
		for _, o := range a.Outcomes {
			if o.Own.Exposure > 0 && o.Outcome.Key == key {
				return &o.Own
			}
		}
		return nil
	}
	of := func(answer analytics.RateAnswer, rig string) *analytics.Group {
		if i := slices.IndexFunc(answer.Groups, func(g analytics.Group) bool { return g.Level[0].Word == rig }); i >= 0 {
			return &answer.Groups[i]
		}
		return nil
	}
	add("All rigs", a.Totals.Hours, own("landed"), own("tangles"))
	for _, r := range a.Rigs.List[:min(len(a.Rigs.List), review.MostRigs)] {
		add(r.Name, r.Hours, of(a.Rigs.Landed, r.Name), of(a.Rigs.Tangles, r.Name))
	}
	c := lyingApart(rows, usualReach(1.5, all...).axis("An hour", ""), "", rowClear+apart, Layer{Shape: Points, Marks: marks})
	c.Height += 14
	c.Key = []Key{{LookDiffers, "fish landed per hour"}, {LookAgainst, "tangles per hour"}}
	return c
}

// seasonSessions is the control chart: each session in the order fished, the band of
// its limits, and the rate of all of them together.
func seasonSessions(a season.Answer, c season.Chart) Chart {
	unit := c.Outcome.Unit()
	if c.Outcome.Exposure == "hours" {
		unit = "An hour"
	}
	n := float64(len(c.Points))
	radius := 4.0
	if n > 80 {
		radius = 2.5
	}
	var limits, way, within, out []Mark
	var groups []analytics.Group
	for i, p := range c.Points {
		at := float64(i)
		groups = append(groups, analytics.Group{Exposure: p.Exposure, Rate: p.Rate, High: p.High, HasInterval: true})
		limits = append(limits, Mark{Wide: &Span{at - 0.5, at + 0.5}, Upright: &Span{p.Low, p.High}})
		m := Mark{X: at, Y: p.Rate, Radius: radius, Look: LookOpen}
		way = append(way, m)
		if p.Out == season.WithinLimits {
			within = append(within, m)
			continue
		}
		m.Look, m.Radius, m.Label = LookDiffers, radius+1, fmt.Sprintf("%d %s", p.Day.Day, p.Day.Month.String()[:3])
		if a.Shared.BlurWaters {
			m.Label = p.Day.Month.String()[:3]
		}
		out = append(out, m)
	}
	y := usualReach(2, groups...).axis(unit, "")
	for _, list := range [][]Mark{way, within, out} { // what lies beyond the scale is drawn at its end
		for i := range list {
			list[i].Y = math.Min(list[i].Y, y.To)
		}
	}
	chart := upright(250, Field{Top: ratesTop, Height: 200, X: Axis{From: -0.5, To: n - 0.5, Ticks: months(c)}, Y: y, Layers: []Layer{{Shape: Washes, Marks: limits},
		level(nowhere, c.Centre, ""), {Shape: Line, Small: true, Marks: way}, {Shape: Points, Small: true, Marks: within}, {Shape: Points, Small: true, Marks: out}}})
	chart.Key = []Key{{LookOpen, "a session within the limits"}, {LookDiffers, "beyond them"}, {LookWash, "limits, by how long each session was"},
		{LookDashes, "all sessions together: " + prose.Rate(c.Outcome, c.Centre)}}
	return chart
}

// months names a month under its first session, where there is room.
func months(c season.Chart) []Tick {
	const room = 0.1 // of the width
	var list []Tick
	var last journal.Date
	for i, p := range c.Points {
		if i > 0 && p.Day.Month == last.Month && p.Day.Year == last.Year {
			continue
		}
		last = p.Day
		if k := len(list); k == 0 || float64(i)-list[k-1].At >= room*float64(len(c.Points)) {
			list = append(list, Tick{float64(i), p.Day.Month.String()[:3]})
		}
	}
	return list
}
