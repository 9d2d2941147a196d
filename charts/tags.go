package charts

import (
	"math"
	"slices"

	"rigtally/internal/svg"
)

// tags draws an axis of tag lengths as what it is: a leader above the field, and from each tick a tag
// drawn to scale, so that twice the length is twice as long. Where tags hang nearer to each other than
// their words on a phone, some of both are left out there.
func (p *pen) tags() {
	line := p.leader()
	p.line(0, line, 100, line, "ink", 3, "")
	p.text(0, line-10, small("start", 8-p.chart.Left), p.X.Title)
	free := -100.0
	for i, t := range p.X.Ticks {
		x, end := p.x(t.At), line+p.hangs(t.At)
		word := small("middle", 0)
		word.halo = true
		half := 50 * svg.Width(t.Text, smallSize) / phone
		if word.roomy = i > 0 && x-half < free; !word.roomy {
			free = x + half + 2
		}
		p.line(x, line, x, end, "ink", 1.5, "")
		p.at(x, line, svg.Element("circle", "", "r", 3, "fill", paint("ink")))
		p.text(x, end+14, word, t.Text)
	}
	p.line(0, p.Top+p.Height, 100, p.Top+p.Height, "edge", 1, "")
}

// leader is how far down the line lies that tags hang from.
func (p *pen) leader() float64 { return p.Top - p.X.Hung - 44 }

// hangs is how far down a tag of a length reaches: in proportion to it, the longest so far as there is room.
func (p *pen) hangs(length float64) float64 {
	longest := p.X.To
	if n := len(p.X.Ticks); n > 0 {
		longest = p.X.Ticks[n-1].At
	}
	return p.X.Hung * math.Max(0, length) / longest
}

// tagged tells whether a tag of the axis hangs at a place.
func (p *pen) tagged(x float64) bool {
	return slices.ContainsFunc(p.X.Ticks, func(t Tick) bool { return math.Abs(p.x(t.At)-x) < 0.01 })
}

// thread hangs what happened with a tag from its end.
func (p *pen) thread(x, from, to float64) {
	if to > from {
		p.line(x, from, x, to, "edge", 1, "1 3")
	}
}

// ownTag is a tag between those of the axis, with its words below theirs and its mark hanging from them.
func (p *pen) ownTag(m Mark, x, y float64, t text) {
	line := p.leader()
	end := line + p.hangs(m.X)
	p.line(x, line, x, end, "data-1", 3.5, "")
	p.thread(x, end, p.Top-24)
	p.text(x, p.Top-11, t, m.Label)
	p.thread(x, p.Top-6, y-m.Radius)
}
