package charts

import (
	"math"
	"slices"

	"rigtally/internal/svg"
)

func (p *pen) point(l Layer, m Mark) {
	k := l.lookOf(m)
	x, y := p.x(m.X), p.y(m.Y)+p.down(m)
	p.WriteString(`<g opacity="` + svg.Num(p.inkOf(m)) + `">`)
	top := math.Min(y-m.Radius, p.whiskers(m, k, x, y))
	if at := p.X.at(m.X); at >= 0 && at <= 1 {
		p.at(x, y, k.symbol(m.Radius))
	} else if at > 1 {
		p.at(100, y, svg.Element("path", "", "d", "M0 -6L9 0L0 6Z", "fill", paint(k.line)))
	}
	p.WriteString("</g>")
	if m.Ring != 0 {
		p.at(p.x(m.Ring), y, ring)
	}
	if p.chart.Behind != "" && m.Note != "" {
		p.exposure(m, y)
	}
	if m.Label == "" || len(p.Y.Rows) > 0 {
		return
	}
	t := strong("middle")
	if s, ok := sides(p.Field, l)[m.Name]; ok {
		t.anchor, t.dx = anchors[s.align], s.across
		p.text(x, y+s.up+5, t, m.Label)
		return
	}
	if p.X.Hung > 0 && !p.tagged(x) {
		p.ownTag(m, x, y, t)
		return
	}
	top = p.above(x, top-6, t, m.Label, len(l.Marks) > 7)
	if p.X.Hung > 0 {
		p.thread(x, p.leader()+p.hangs(m.X)+19, top-14)
	}
}

// whiskers draws the intervals of a mark; an arrow ends what the field cuts. It returns the upper end.
func (p *pen) whiskers(m Mark, k look, x, y float64) (top float64) {
	top = y
	arrow := func(x, y float64, path string) { p.at(x, y, svg.Element("path", "", "d", path, "fill", paint(k.line))) }
	if s := m.Across; s != nil {
		p.line(p.x(s.Low), y, p.x(s.High), y, k.line, 2, "")
		if p.X.at(s.High) > 1 {
			arrow(100, y, "M0 -4L7 0L0 4Z")
		}
		if p.X.at(s.Low) < 0 {
			arrow(0, y, "M0 -4L-7 0L0 4Z")
		}
	}
	if s := m.Upright; s != nil {
		top = p.y(s.High)
		p.line(x, p.y(s.Low), x, top, k.line, 2, "")
		if p.Y.at(s.High) > 1 {
			arrow(x, p.Top, "M-4 0L0 -7L4 0Z")
			top -= 7
		}
	}
	return top
}

// above writes a label above its mark, higher where another one is, and returns where it stands.
func (p *pen) above(x, y float64, t text, label string, roomy bool) float64 {
	b := around(x, y, "middle", svg.Width(label, textSize)-6)
	for slices.ContainsFunc(p.taken, b.meets) {
		y, b.top, b.foot = y-4, b.top-4, b.foot-4
	}
	p.taken = append(p.taken, b)
	switch {
	case x < 4:
		t.anchor = "start"
	case x > 94:
		t.anchor = "end"
	}
	t.roomy = roomy
	p.text(x, y, t, label)
	return y
}

// exposure writes what is behind a mark beside its row, over a bar, or beside it in low rows.
func (p *pen) exposure(m Mark, y float64) {
	dx, up, room := 20.0, 9.0, besideRows-24.0
	if p.chart.Tight {
		dx, up, room = 44, -4, 20
	}
	p.text(100, y-up, small("start", dx), m.Note)
	p.at(100, y, svg.Element("rect", "", "x", 20, "y", -4, "width", math.Max(1.5, m.Share*room), "height", 7, "fill", paint("edge")))
}

// told draws a mark and what takes the pointer for it, which tells its numbers: as a title where no
// script runs. Paper takes no pointer.
func (p *pen) told(m Mark, ground string, drawn func()) {
	if len(m.Detail) == 0 || p.chart.Tight {
		drawn()
		return
	}
	says := m.Name
	for _, pair := range m.Detail {
		says += "\n" + pair[0] + ": " + pair[1]
	}
	p.WriteString(`<g class="told" data-at="` + svg.Num(m.X) + " " + svg.Num(m.Y) + `"`)
	if m.Href != "" {
		p.WriteString(` data-href="` + svg.Escape(m.Href) + `"`)
	}
	p.WriteString("><title>" + svg.Escape(says) + "</title>" + ground)
	drawn()
	p.WriteString("</g>")
}

// Tells reports whether marks of the chart tell their numbers.
func (c Chart) Tells() bool {
	return slices.ContainsFunc(c.Fields, func(f Field) bool {
		return slices.ContainsFunc(f.Layers, func(l Layer) bool {
			return slices.ContainsFunc(l.Marks, func(m Mark) bool { return len(m.Detail) > 0 })
		})
	})
}

// ground is what takes the pointer for a mark: its row, its column, or the spot itself.
func (p *pen) ground(m Mark) string {
	area := []any{"class", "ground", "fill", "none", "pointer-events", "all"}
	if n := len(p.Y.Rows); n > 0 && len(p.X.Rows) == 0 {
		row := p.Height / float64(n)
		return svg.Element("rect", "", append(area, "x", 0, "y", p.Top+row*m.Y, "width", "100%", "height", row)...)
	}
	if m.Wide == nil {
		return svg.Element("svg", svg.Element("circle", "", append(area, "r", 15)...), "x", svg.Percent(p.x(m.X)), "y", p.y(m.Y), "overflow", "visible")
	}
	from, to := p.x(m.Wide.Low), p.x(m.Wide.High)
	return svg.Element("rect", "", append(area, "x", svg.Percent(from), "y", p.Top, "width", svg.Percent(to-from), "height", p.chart.Height-p.Top)...)
}
