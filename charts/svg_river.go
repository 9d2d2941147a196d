package charts

import (
	"rigtally/internal/svg"
)

// spell draws a stretch of time across a field, with where it begins and ends, and names it above.
func (p *pen) spell(m Mark, pale bool) {
	from, to, foot := p.x(m.Wide.Low), p.x(m.Wide.High), p.Top+p.Height
	opacity := 0.4
	if pale {
		opacity = 0.15
	}
	p.rect(from, to, p.Top, foot, "rule", opacity)
	p.line(from, p.Top-4, from, foot, "ink", 1, "")
	p.line(to, p.Top-4, to, foot, "ink", 1, "")
	x := (from + to) / 2
	half := 50 * svg.Width(m.Label, smallSize) / phone
	t := small("middle", 0)
	t.colour = "ink"
	switch {
	case x+half > 103:
		x, t.anchor = max(to, 100), "end"
	case x-half < 20: // the title of the axis stands there
		t.anchor, x = "start", max(from, 20)
	}
	p.text(x, p.Top-8, t, m.Label)
}

// gap draws a time without readings: a dotted line between two ends, with the reason above it where there is room.
func (p *pen) gap(m Mark) {
	from, to, y := p.x(m.Wide.Low), p.x(m.Wide.High), p.Top+p.Height-7
	p.line(from, y, to, y, "quiet", 1.5, "1.5 4")
	p.line(from, y-4, from, y+4, "quiet", 1.5, "")
	p.line(to, y-4, to, y+4, "quiet", 1.5, "")
	t := small("middle", 0)
	t.halo = true
	const desk = 2.2 // a field on a desk is so many times as wide as on a phone
	wide := 100 * (svg.Width(m.Label, smallSize) + 6) / phone
	if wide > desk*(to-from) {
		return
	}
	t.roomy = wide > to-from
	p.text((from+to)/2, y-8, t, m.Label)
}
