package charts

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"rigtally/analytics"
	"rigtally/analytics/season"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// Season draws the figures of a review that there is something to draw for, under
// the names that its words give them.
func Season(a season.Answer, sys units.System) []*Drawing {
	var list []*Drawing
	for _, s := range prose.SeasonReview(a, sys).Sections {
		for _, f := range s.Figures {
			d := &Drawing{Name: f.Name, Title: f.Caption, Spoken: f.Spoken}
			switch f.Name {
			case "months":
				drawMonths(d, a)
			case "outcomes":
				drawOutcomes(d, a)
			case "rigs":
				drawRigs(d, a)
			}
			for _, c := range a.Charts {
				if f.Name == "sessions-"+c.Outcome.Key {
					drawSessions(d, a, c)
				}
			}
			list = append(list, d)
		}
	}
	return list
}

// scaleUp is an upright scale from 0 in a field of some height.
type scaleUp struct {
	top, height float64
	axis
}

// y is the place of a value, and whether it lies beyond the field.
func (s scaleUp) y(v float64) (y float64, beyond bool) {
	if v > s.end {
		return s.top, true
	}
	return s.top + s.height*(1-v/s.end), false
}

// grid draws the lines of the scale with their numbers above them.
func (s scaleUp) grid(d *Drawing, unit string) {
	for v := s.step; v <= s.end*1.0001; v += s.step {
		y, _ := s.y(v)
		d.line(at(0), y, at(100), y, rule, 1, 0)
		words := strconv.FormatFloat(v, 'g', 6, 64)
		if v+s.step > s.end*1.0001 {
			words += " " + unit
		}
		d.text(at(0), y-4, "start", quiet, 12, words)
	}
	y, _ := s.y(0)
	d.line(at(0), y, at(100), y, edge, 1.5, 0)
}

// standing draws an upright interval with the mark's place x.
func (d *Drawing) standing(x spot, s scaleUp, low, high float64, tone shade) {
	bottom, beyond := s.y(low)
	if beyond {
		return
	}
	top, cut := s.y(high)
	d.line(x, bottom, x, top, tone, 2, 0)
	if cut {
		d.arrow(x, top, "up", tone)
	}
}

// usualHigh is what a scale should reach: all rates, and the intervals of most.
func usualHigh(rates, highs []float64, most float64) float64 {
	end := 0.0
	for _, r := range rates {
		end = max(end, 1.15*r)
	}
	if len(highs) == 0 {
		return max(end, 0.1)
	}
	sorted := slices.Sorted(slices.Values(highs))
	return max(end, min(sorted[(len(sorted)-1)*3/4], most*end), 0.1)
}

// gutter is kept free for the numbers of an upright scale, in percent.
const gutter = 7.0

func drawMonths(d *Drawing, a season.Answer) {
	const top, height, strip, foot = 22.0, 190.0, 46.0, 22.0
	d.Key = []Key{{LookRound, "fish landed per hour"}, {LookSquareOff, "fish hooked per hour"}}
	var rates, highs []float64
	hours := 0.0
	for _, answer := range []analytics.RateAnswer{a.Months.Hookups, a.Months.Landed} {
		for _, g := range answer.Groups {
			rates = append(rates, g.Rate)
			if g.HasInterval {
				highs = append(highs, g.High)
			}
		}
	}
	for _, m := range a.Months.List {
		hours = max(hours, m.Hours)
	}
	s := scaleUp{top, height, reaching(usualHigh(rates, highs, 2), rateAxes)}
	s.grid(d, "an hour")
	column := (100 - gutter) / float64(len(a.Months.List))
	base := top + height + foot
	d.text(at(0), base+18, "start", quiet, 12, "Hours fished")
	base += 40
	for i, m := range a.Months.List {
		middle := gutter + column*(float64(i)+0.5)
		for j, answer := range []analytics.RateAnswer{a.Months.Hookups, a.Months.Landed} {
			for _, g := range answer.Groups {
				if int(g.Level[0].Number) == int(m.Month) {
					d.monthMark(spot{middle, float64(j)*12 - 6}, s, g, j == 1)
				}
			}
		}
		d.text(at(middle), top+height+17, "middle", ink, 0, m.Month.String()[:3])
		bar := 0.0
		if hours > 0 {
			bar = strip * m.Hours / hours
		}
		d.box(middle-column*0.28, middle+column*0.28, base+strip-bar, bar, band)
		d.text(at(middle), base+strip-bar-4, "middle", ink, 12, fmt.Sprintf("%.0f", m.Hours))
	}
	d.line(at(0), base+strip, at(100), base+strip, edge, 1.5, 0)
	d.height = base + strip + 4
}

func (d *Drawing) monthMark(x spot, s scaleUp, g analytics.Group, landed bool) {
	tone := otherTone
	if landed {
		tone = firstTone
	}
	if g.HasInterval {
		d.standing(x, s, g.Low, g.High, tone)
	}
	y, _ := s.y(g.Rate)
	if landed {
		d.dot(x, y, 4.5, firstTone, firstTone)
		return
	}
	d.square(x, y, 4, paper, otherTone)
}

// ratioScale puts ratios across, by their logarithm.
type ratioScale struct{ most float64 }

func (s ratioScale) at(ratio float64) (percent float64, off string) {
	const kept = 5.0 // percent at each end
	x := math.Log(ratio) / math.Log(s.most)
	switch {
	case ratio <= 0 || x < -1:
		return kept / 2, "left"
	case x > 1:
		return 100 - kept/2, "right"
	}
	return 50 + x*(50-kept), ""
}

// ticks draws the scale beside each row's mark, and its numbers at the foot.
func (s ratioScale) ticks(d *Drawing, top, row float64, rows int) {
	for v := 1 / s.most; v <= s.most*1.0001; v *= 2 {
		x, _ := s.at(v)
		words := map[float64]string{0.125: "⅛", 0.25: "¼", 0.5: "½"}[v]
		if words == "" {
			words = fmt.Sprintf("%g", v)
		}
		tone, width := rule, 1.0
		if v == 1 {
			tone, width, words = edge, 2, "1, alike"
		}
		for i := range rows {
			y := top + row*float64(i)
			d.line(at(x), y+20, at(x), y+row-4, tone, width, 0)
		}
		d.text(at(x), top+row*float64(rows)+12, "middle", quiet, 12, words)
	}
}

// lying draws an interval of ratios.
func (d *Drawing) lying(s ratioScale, y, low, high float64, tone shade) {
	x1, off1 := s.at(low)
	x2, off2 := s.at(high)
	d.line(at(x1), y, at(x2), y, tone, 2, 0)
	if off1 == "left" {
		d.arrow(at(x1), y, "left", tone)
	}
	if off2 == "right" {
		d.arrow(at(x2), y, "right", tone)
	}
}

func drawOutcomes(d *Drawing, a season.Answer) {
	const top, row = 6.0, 48.0
	d.Key = []Key{{LookRound, "better"}, {LookSquare, "worse"}, {LookRoundOpen, "not distinguishable"}, {LookWash, "the better side"}}
	var list []season.Outcome
	s := ratioScale{2}
	for _, o := range a.Outcomes {
		if o.Own.Exposure == 0 || o.Baseline.Rate == 0 {
			continue
		}
		list = append(list, o)
		if o.Low != nil && o.High != nil && (*o.High > 2*o.Baseline.Rate || *o.Low < o.Baseline.Rate/2) {
			s.most = 4
		}
	}
	bottom := top + row*float64(len(list))
	for i, o := range list {
		y := top + row*float64(i)
		if season.MoreIsBetter(o.Outcome) {
			d.wash(50, 100, y+21, 22)
		} else {
			d.wash(0, 50, y+21, 22)
		}
	}
	for i, o := range list {
		d.text(at(0), top+row*float64(i)+14, "start", ink, 0, prose.Measure(o.Outcome))
	}
	s.ticks(d, top, row, len(list))
	for i, o := range list {
		d.outcomeMark(s, o, top+row*float64(i)+32)
	}
	d.height = bottom + 20
}

func (d *Drawing) outcomeMark(s ratioScale, o season.Outcome, y float64) {
	rate := o.Own.Rate
	if o.Shrunk != nil {
		rate = *o.Shrunk
	}
	base := o.Baseline.Rate
	if o.Low != nil && o.High != nil {
		d.lying(s, y, *o.Low/base, *o.High/base, ink)
	}
	x, _ := s.at(rate / base)
	switch o.Standing {
	case season.Better:
		d.dot(at(x), y, 6, firstTone, firstTone)
	case season.Worse:
		d.square(at(x), y, 5.5, otherTone, otherTone)
	default:
		d.dot(at(x), y, 5.5, paper, edge)
	}
}

// scaleAcross is a scale from 0 across the width.
type scaleAcross struct{ axis }

func (s scaleAcross) x(v float64) (percent float64, beyond bool) {
	const left, right = 1.0, 98.0
	if v > s.end {
		return right, true
	}
	return left + (right-left)*v/s.end, false
}

func (d *Drawing) across(s scaleAcross, y float64, g analytics.Group, landed bool) {
	tone := otherTone
	if landed {
		tone = firstTone
	}
	if g.HasInterval {
		x1, _ := s.x(g.Low)
		x2, cut := s.x(g.High)
		d.line(at(x1), y, at(x2), y, tone, 2, 0)
		if cut {
			d.arrow(at(x2), y, "right", tone)
		}
	}
	x, _ := s.x(g.Rate)
	if landed {
		d.dot(at(x), y, 4.5, firstTone, firstTone)
	} else {
		d.square(at(x), y, 4, otherTone, otherTone)
	}
}

// drawRigs draws the rigs fished most, after all of them together.
func drawRigs(d *Drawing, a season.Answer) {
	const top, row = 4.0, 56.0
	d.Key = []Key{{LookRound, "fish landed per hour"}, {LookSquare, "tangles per hour"}}
	type line struct {
		name  string
		marks map[bool]analytics.Group
	}
	all := line{"All rigs, " + prose.FishedHours(a.Totals.Hours), map[bool]analytics.Group{}}
	for _, o := range a.Outcomes {
		if o.Own.Exposure > 0 && (o.Outcome.Key == "landed" || o.Outcome.Key == "tangles") {
			all.marks[o.Outcome.Key == "landed"] = o.Own
		}
	}
	lines := []line{all}
	for _, r := range a.Rigs.List[:min(len(a.Rigs.List), prose.MostRigs)] {
		l := line{r.Name + ", " + prose.FishedHours(r.Hours), map[bool]analytics.Group{}}
		for landed, answer := range map[bool]analytics.RateAnswer{true: a.Rigs.Landed, false: a.Rigs.Tangles} {
			for _, g := range answer.Groups {
				if g.Level[0].Word == r.Name {
					l.marks[landed] = g
				}
			}
		}
		if len(l.marks) > 0 {
			lines = append(lines, l)
		}
	}
	var rates, highs []float64
	for _, l := range lines {
		for _, g := range l.marks {
			rates = append(rates, g.Rate)
			if g.HasInterval {
				highs = append(highs, g.High)
			}
		}
	}
	s := scaleAcross{reaching(usualHigh(rates, highs, 1.5), rateAxes)}
	bottom := top + row*float64(len(lines))
	for i, l := range lines {
		y := top + row*float64(i)
		if i == 0 {
			d.strong(at(0), y+14, "start", l.name)
		} else {
			d.text(at(0), y+14, "start", ink, 0, l.name)
		}
		for v := 0.0; v <= s.end*1.0001; v += s.step {
			x, _ := s.x(v)
			d.line(at(x), y+20, at(x), y+row-4, rule, 1, 0)
		}
		if g, ok := l.marks[true]; ok {
			d.across(s, y+28, g, true)
		}
		if g, ok := l.marks[false]; ok {
			d.across(s, y+43, g, false)
		}
	}
	for v := 0.0; v <= s.end*1.0001; v += s.step {
		x, _ := s.x(v)
		anchor, words := "middle", strconv.FormatFloat(v, 'g', 6, 64)
		if v+s.step > s.end*1.0001 {
			anchor, words = "end", words+" an hour"
		}
		if v == 0 {
			anchor = "start"
		}
		d.text(at(x), bottom+12, anchor, quiet, 12, words)
	}
	d.height = bottom + 18
}

// drawSessions is the control chart: each session in the order fished, the band of
// its limits, and the rate of all of them together.
func drawSessions(d *Drawing, a season.Answer, c analytics.ChartAnswer) {
	const top, height = 22.0, 200.0
	d.Key = []Key{{LookRoundOpen, "a session within the limits"}, {LookRound, "beyond them"}, {LookWash, "limits, by how long each session was"},
		{LookDashes, "all sessions together: " + prose.Rate(c.Outcome, c.Centre)}}
	var rates, highs []float64
	for _, p := range c.Points {
		rates, highs = append(rates, p.Rate), append(highs, p.High)
	}
	s := scaleUp{top, height, reaching(usualHigh(rates, highs, 2), rateAxes)}
	n := float64(len(c.Points))
	slot := (100 - gutter) / n
	for i, p := range c.Points {
		y1, _ := s.y(p.High)
		y2, _ := s.y(p.Low)
		d.wash(gutter+slot*float64(i), gutter+slot*float64(i+1), y1, y2-y1)
	}
	s.grid(d, unitOf(c.Outcome))
	centre, _ := s.y(c.Centre)
	d.line(at(gutter), centre, at(100), centre, ink, 1.5, 5)
	radius := 4.0
	if n > 80 {
		radius = 2.5
	}
	for i, p := range c.Points {
		x := gutter + slot*(float64(i)+0.5)
		y, _ := s.y(p.Rate)
		if i > 0 {
			before, _ := s.y(c.Points[i-1].Rate)
			d.line(at(x-slot), before, at(x), y, edge, 1, 0)
		}
	}
	d.sessionMarks(s, a, c, slot, radius)
	d.monthsBelow(c, slot, top+height+17)
	d.height = top + height + 24
}

func unitOf(o journal.Outcome) string {
	if o.Exposure == "hours" {
		return "an hour"
	}
	return o.Unit()
}

// sessionMarks draws the sessions, and names the days of those beyond the limits; a
// name near the one before it stands a line higher.
func (d *Drawing) sessionMarks(s scaleUp, a season.Answer, c analytics.ChartAnswer, slot, radius float64) {
	const near, line = 9.0, 13.0 // percent, px
	last, lastY := -near, 0.0
	for i, p := range c.Points {
		x := gutter + slot*(float64(i)+0.5)
		y, _ := s.y(p.Rate)
		if p.Out == analytics.WithinLimits {
			d.dot(at(x), y, radius, paper, edge)
			continue
		}
		d.dot(at(x), y, radius+1, firstTone, firstTone)
		name := fmt.Sprintf("%d %s", p.Day.Day, p.Day.Month.String()[:3])
		if a.Shared.BlurWaters {
			name = p.Day.Month.String()[:3]
		}
		anchor := "middle"
		switch {
		case x < gutter+4:
			anchor = "start"
		case x > 94:
			anchor = "end"
		}
		up := max(y-radius-6, 12)
		if x-last < near && math.Abs(up-lastY) < line {
			up = lastY - line
		}
		last, lastY = x, up
		d.text(at(x), up, anchor, ink, 12, name)
	}
}

// monthsBelow names a month under its first session, where there is room.
func (d *Drawing) monthsBelow(c analytics.ChartAnswer, slot, y float64) {
	const room = 10.0 // percent
	last := -room
	for i, p := range c.Points {
		x := gutter + slot*(float64(i)+0.5)
		if i > 0 && p.Day.Month == c.Points[i-1].Day.Month && p.Day.Year == c.Points[i-1].Day.Year || x-last < room {
			continue
		}
		anchor := "middle"
		if x < 4 {
			anchor = "start"
		}
		if x > 96 {
			anchor = "end"
		}
		d.text(at(x), y, anchor, quiet, 12, p.Day.Month.String()[:3])
		last = x
	}
}
