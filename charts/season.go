package charts

import (
	"fmt"
	"html/template"
	"time"

	"rigtally/analytics/season"
	"rigtally/internal/svg"
	"rigtally/journal"
)

// Where things stand in a season's picture, in px; places across are parts of the width.
const (
	seasonHeight = 176.0
	seasonLine   = 80.0 // the days
	seasonBar    = 50.0 // the longest
)

// Season draws a season along its days: fish landed above the line, tangles below it, high water behind.
func Season(a season.Answer, spoken string) template.HTML {
	if len(a.Days) == 0 {
		return ""
	}
	from := time.Date(a.Year, a.Days[0].Date.Month, 1, 0, 0, 0, 0, time.UTC)
	to := time.Date(a.Year, a.Days[len(a.Days)-1].Date.Month+1, 1, 0, 0, 0, 0, time.UTC)
	x := func(t time.Time) float64 { return 100 * float64(t.Sub(from)) / float64(to.Sub(from)) }
	p := &seasonPen{wide: 6, at: func(d season.Day) float64 {
		if a.Shared.BlurWaters {
			return x(d.Date.In(time.UTC).AddDate(0, 0, 14))
		}
		return x(d.Date.In(time.UTC).Add(12 * time.Hour))
	}}
	switch {
	case a.Shared.BlurWaters:
		p.wide = 18
	case len(a.Days) > 60:
		p.wide = 3
	}
	for _, d := range a.Days {
		p.most = max(p.most, d.Landed.N, d.Tangles.N)
	}
	for _, d := range a.Days {
		if d.High {
			p.Element("svg", svg.Element("rect", "", "x", -p.wide, "width", 2*p.wide, "height", seasonHeight-22, "fill", paint("rule"), "fill-opacity", 0.6), "x", svg.Percent(p.at(d)), "overflow", "visible")
		}
	}
	p.Element("line", "", "x2", svg.Percent(100), "y1", seasonLine, "y2", seasonLine, "stroke", paint("edge"))
	for m := from; m.Before(to); m = m.AddDate(0, 1, 0) {
		p.Element("line", "", "x1", svg.Percent(x(m)), "x2", svg.Percent(x(m)), "y1", seasonHeight-22, "y2", seasonHeight-16, "stroke", paint("edge"))
		p.words(x(m.AddDate(0, 0, 14)), seasonHeight-4, "middle", "quiet", m.Month().String()[:3])
	}
	var fish, tangles season.Day
	for _, d := range a.Days {
		p.day(d)
		if d.Landed.N > fish.Landed.N {
			fish = d
		}
		if d.Tangles.N > tangles.Tangles.N {
			tangles = d
		}
	}
	p.highest(fish, fish.Landed.N, -1, "fish", "fish", a.Shared.BlurWaters)
	p.highest(tangles, tangles.Tangles.N, 1, "tangle", "tangles", a.Shared.BlurWaters)
	return template.HTML(svg.Element("svg", p.String(), "class", "season-days", "width", "100%", "height", seasonHeight, "font-size", 13, "font-family", drawnFont, "role", "img", "aria-label", spoken))
}

type seasonPen struct {
	svg.Writer
	at   func(season.Day) float64
	wide float64
	most int
}

func (p *seasonPen) high(n int) float64 { return seasonBar * float64(n) / float64(max(p.most, 1)) }

// day draws its tick, and what was counted of it.
func (p *seasonPen) day(d season.Day) {
	drawn := svg.Element("line", "", "y1", seasonLine-4, "y2", seasonLine+4, "stroke", paint("ink"), "stroke-width", min(2, p.wide/2))
	bar := func(t journal.Total, up bool) {
		h, y, fill := p.high(t.N), seasonLine+4, "paper"
		if up {
			y, fill = seasonLine-4-h, "ink"
		}
		if t.N > 0 {
			drawn += svg.Element("rect", "", "x", -p.wide/2, "y", y, "width", p.wide, "height", h, "fill", paint(fill), "stroke", paint("ink"))
		}
		if !t.Whole() { // a dotted end: there may have been more
			end := y + h + 5
			if up {
				end = y - 5
			}
			drawn += svg.Element("circle", "", "cy", end, "r", 2, "fill", "none", "stroke", paint("ink"))
		}
	}
	bar(d.Landed, true)
	bar(d.Tangles, false)
	p.Element("svg", drawn, "x", svg.Percent(p.at(d)), "overflow", "visible")
}

// highest names the day with most of something, above or below the line.
func (p *seasonPen) highest(d season.Day, n, side int, one, many string, month bool) {
	if n == 0 {
		return
	}
	text := fmt.Sprintf("%d %s, %d %s", n, many, d.Date.Day, d.Date.Month.String()[:3])
	if month {
		text = fmt.Sprintf("%d %s in %s", n, many, d.Date.Month.String()[:3])
	}
	if n == 1 {
		text = "1 " + one + " at most"
	}
	y := seasonLine - 10 - p.high(n)
	if side > 0 {
		y = seasonLine + 18 + p.high(n)
	}
	x, anchor := p.at(d), "middle"
	switch {
	case x < 18:
		anchor = "start"
	case x > 82:
		anchor = "end"
	}
	p.words(x, y, anchor, "ink", text)
}

func (p *seasonPen) words(x, y float64, anchor, colour, text string) {
	p.Element("text", svg.Escape(text), "x", svg.Percent(x), "y", y, "text-anchor", anchor, "fill", paint(colour), "paint-order", "stroke", "stroke", paint("paper"), "stroke-width", 3)
}
