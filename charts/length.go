package charts

import (
	"math"
	"strings"

	"rigtally/analytics"
	"rigtally/internal/units"
	"rigtally/journal"
	"rigtally/prose"
)

// OverLength draws an answer by tag length alone: the tags to scale, at the end of each its rate
// with its 95% interval; below, on the same axis of lengths, bars of the exposure behind it.
func OverLength(a analytics.RateAnswer, sys units.System, link Link) Chart {
	p := newPicture(a, sys, link)
	spans := p.spans()
	var marks, bars []Mark
	for i, g := range a.Groups {
		m := p.mark(i)
		m.X, m.Y, m.Upright = (spans[i].Low+spans[i].High)/2, p.scale(g.Rate), p.interval(g)
		bar := m
		bar.Y, bar.Upright, bar.Wide, bar.Label, bar.Look, bar.Detail = g.Exposure, nil, &spans[i], p.shortExposure(g), "", nil
		m.Wide = &spans[i]
		marks, bars = append(marks, m), append(bars, bar)
	}
	x := p.lengthAxis(spans)
	if len(marks) > 0 && len(marks) <= mostTags {
		x.Ticks = nil
		for i, m := range marks {
			words := strings.TrimSuffix(prose.Level(p.By[0].Factor, p.Groups[i].Level[0], p.sys), " "+p.lengthUnit())
			x.Ticks = append(x.Ticks, Tick{At: m.X, Text: strings.TrimSuffix(strings.Replace(words, "below ", "<", 1), " "+p.lengthUnit()+" or more")})
		}
	}
	x.Hung = longestTag
	c := overBars(x, p.rateAxis().axis("", p.unit()), reaching(p.most, exposureAxes).axis(prose.Exposure(a.Outcome), ""),
		Layer{Shape: Bars, Marks: bars}, append(p.acrossReference(), Layer{Shape: Points, Marks: marks})...)
	c.Key, c.Drawn = p.key(marks), len(marks)
	return c
}

// mostTags are so many that each can have a tag of its own on the axis.
const mostTags = 14

func (p picture) lengthUnit() string {
	_, unit := units.In(units.Length, 0, p.sys)
	return unit
}

// shortExposure is written over a bar, under a heading that says of what.
func (p picture) shortExposure(g analytics.Group) string {
	if p.Outcome.Exposure == "hours" {
		return prose.FishedHours(g.Exposure)
	}
	return prose.Count(math.Round(g.Exposure))
}

// acrossReference is the line at the reference's rate, which the key names.
func (p picture) acrossReference() []Layer {
	lines := p.reference()
	for _, l := range lines {
		l.Marks[0] = Mark{X: nowhere, Y: l.Marks[0].X}
	}
	return lines
}

// spans returns where each group lies, in the person's unit. A single length gets the
// width of half the least distance between two, and an open band that of its neighbor.
func (p picture) spans() []Span {
	in := func(mm float64) float64 { v, _ := units.In(units.Length, mm, p.sys); return v }
	gap := p.leastGap(in)
	out := make([]Span, len(p.Groups))
	for i, g := range p.Groups {
		l := g.Level[0]
		switch l.Kind {
		case journal.BandLevel:
			out[i] = Span{in(l.Number), in(l.Upper)}
		case journal.BelowLevel:
			out[i] = Span{math.Max(0, in(l.Upper)-gap), in(l.Upper)}
		case journal.AboveLevel:
			out[i] = Span{in(l.Number), in(l.Number) + gap}
		default:
			out[i] = Span{in(l.Number) - gap/4, in(l.Number) + gap/4}
		}
	}
	return out
}

// leastGap is the least distance between two lengths or the width of a band, in the person's unit.
func (p picture) leastGap(in func(float64) float64) float64 {
	least := math.Inf(1)
	for i, g := range p.Groups {
		l := g.Level[0]
		if l.Kind == journal.BandLevel {
			least = math.Min(least, in(l.Upper)-in(l.Number))
		}
		if i > 0 && l.Kind == journal.NumberLevel {
			least = math.Min(least, in(l.Number)-in(p.Groups[i-1].Level[0].Number))
		}
	}
	if math.IsInf(least, 1) {
		return in(25.4)
	}
	return least
}

// lengthAxis reaches a little beyond the shortest and longest tag, to whole
// inches or centimeters.
func (p picture) lengthAxis(spans []Span) Axis {
	from, to, step := 0.0, 1.0, 10.0
	if p.sys == units.US {
		step = 1
	}
	if n := len(spans); n > 0 {
		from, to = math.Max(0, step*math.Floor(spans[0].Low/step)), step*math.Ceil(spans[n-1].High/step)
	}
	return numbers("Tag length ("+p.lengthUnit()+")", from, to, math.Max(step, stepFor(to-from)), "")
}
