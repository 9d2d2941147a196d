package charts

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"rigtally/internal/svg"
)

// leastRow is the height of a row that can still be read on paper.
const leastRow = 18

const drawnFont = `system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Helvetica Neue", sans-serif`

// Places across are parts of a field's width, which is 100% of the svg element's, so
// that a drawing stretches with its page while heights and letters keep their size.
// The room beside the fields is the element's padding: see .drawn in figure.css.

// SVG is the figure as a part of a page, described by what is to be spoken. One that is
// taller than a sheet comes with a tighter one for paper.
func (c Chart) SVG(spoken string) template.HTML {
	kind := "numbers"
	switch {
	case c.Scale != nil:
		kind = "cells"
	case c.Behind != "":
		kind = "behind"
	case len(c.Fields) > 0 && len(c.Fields[0].Y.Rows) > 0:
		kind = "rows"
	}
	hidden := ` role="img" aria-label="` + svg.Escape(spoken) + `"`
	if tight, ok := c.tighter(); ok {
		return c.element("drawn-tall drawn-"+kind, hidden) + tight.element("drawn-tight drawn-"+kind, ` aria-hidden="true"`)
	}
	return c.element("drawn-"+kind, hidden)
}

func (c Chart) element(class, more string) template.HTML {
	n := svg.Num
	return template.HTML(fmt.Sprintf(`<svg class="drawn %s"%s data-beside="%s %s" width="100%%" height="%s" font-size="13" font-family="%s">%s</svg>`,
		class, more, n(c.Left), n(c.Right), n(c.Height), svg.Escape(drawnFont), c.draw()))
}

// tighter is a chart of many rows drawn so that a sheet holds it, with names beside the marks.
func (c Chart) tighter() (Chart, bool) {
	const sheet = 840
	if len(c.Fields) != 1 || len(c.Fields[0].Y.Rows) == 0 || c.Height <= sheet {
		return c, false
	}
	f := c.Fields[0]
	now := f.Height
	f.Height = math.Max(now-(c.Height-sheet), leastRow*float64(len(f.Y.Rows)))
	c.Fields, c.Height, c.Tight = []Field{f}, c.Height-(now-f.Height), true
	if c.Scale == nil {
		c.Left = besideTight
	}
	return c, true
}

// File is the figure as a file of its own, with its title and key, on light paper.
func (c Chart) File(title, spoken string) string {
	const width, margin, head, row = 760.0, 20.0, 44.0, 22.0
	var b strings.Builder
	top := head + row*float64((len(c.Key)+1)/2)
	n := svg.Num
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%s" height="%s" font-size="13" font-family="%s" role="img" aria-label="%s">`, n(width), n(top+c.Height+margin), svg.Escape(drawnFont), svg.Escape(title))
	fmt.Fprintf(&b, `<title>%s</title><desc>%s</desc><rect width="100%%" height="100%%" fill="%s"/>`, svg.Escape(title), svg.Escape(spoken), paint("paper"))
	fmt.Fprintf(&b, `<text x="%s" y="28" font-size="16" font-weight="700" fill="%s">%s</text>`, n(margin), paint("ink"), svg.Escape(title))
	for i, k := range c.Key {
		x, y := margin+float64(i%2)*(width/2), head+row*float64(i/2)+6
		fmt.Fprintf(&b, `<g transform="translate(%s %s)">%s<text x="16" y="5" fill="%s">%s</text></g>`, n(x+6), n(y), k.sign(), paint("ink"), svg.Escape(k.Text))
	}
	fmt.Fprintf(&b, `<svg x="%s" y="%s" width="%s" height="%s" overflow="visible">%s</svg></svg>`, n(margin+c.Left), n(top), n(width-2*margin-c.Left-c.Right), n(c.Height), c.draw())
	return onLightPaper(b.String())
}

func (c Chart) draw() string {
	p := &pen{chart: c}
	for _, f := range c.Fields {
		p.Field = f
		p.field()
	}
	return p.String()
}

// pen draws a field of a chart.
type pen struct {
	svg.Writer
	Field
	chart Chart
	said  [2]float64 // where the last label above a mark stands
}

// x is the place of a number across, in percent, kept within a little of the field.
func (p *pen) x(v float64) float64 { return 100 * math.Min(math.Max(p.X.at(v), -0.2), 1.2) }

// y is the place of a number upright, or of a row.
func (p *pen) y(v float64) float64 {
	part := p.Y.at(v)
	if len(p.Y.Rows) == 0 {
		part = 1 - part
	}
	return p.Top + p.Height*math.Min(math.Max(part, -0.2), 1.2)
}

// at draws something around a place.
func (p *pen) at(x, y float64, drawn string) {
	p.Put(`<svg x="%v%%" y="%v" overflow="visible">%v</svg>`, x, y, drawn)
}

func (p *pen) rect(x1, x2, y1, y2 float64, colour string, opacity float64) {
	if opacity == 0 {
		return
	}
	p.Put(`<rect x="%v%%" y="%v" width="%v%%" height="%v" fill="%v"`, x1, math.Min(y1, y2), math.Max(0, x2-x1), math.Abs(y2-y1), paint(colour))
	if opacity < 1 {
		p.Put(` fill-opacity="%v"`, opacity)
	}
	p.Put(`/>`)
}

func (p *pen) line(x1, y1, x2, y2 float64, colour string, width float64, more string) {
	p.Put(`<line x1="%v%%" y1="%v" x2="%v%%" y2="%v" stroke="%v" stroke-width="%v"%v/>`, x1, y1, x2, y2, paint(colour), width, more)
}

// text is how words are written.
type text struct {
	dx, size float64 // size 0 is the usual one
	anchor   string  // start, middle or end
	colour   string
	bold     bool
	halo     bool // kept clear of what is behind it
	roomy    bool // left out on narrow screens
}

func (p *pen) text(x, y float64, t text, words string) {
	if words == "" {
		return
	}
	p.Put(`<text x="%v%%" y="%v" fill="%v"`, x, y, paint(t.colour))
	if t.dx != 0 {
		p.Put(` dx="%v"`, t.dx)
	}
	if t.anchor != "" {
		p.Put(` text-anchor="%v"`, t.anchor)
	}
	if t.size != 0 {
		p.Put(` font-size="%v"`, t.size)
	}
	if t.bold {
		p.Put(` font-weight="600"`)
	}
	if t.halo {
		p.Put("%v", halo)
	}
	if t.roomy {
		p.Put(` class="roomy"`)
	}
	p.Put(`>%v</text>`, svg.Escape(words))
}

// halo keeps words clear of what is behind them.
var halo = ` paint-order="stroke" stroke="` + paint("paper") + `" stroke-width="3"`

// small is how the words of axes are written.
func small(anchor string) text { return text{anchor: anchor, colour: "quiet", size: smallSize} }

func (p *pen) field() {
	for _, l := range p.Layers {
		if l.Shape == Washes {
			for _, m := range l.Marks {
				p.rect(math.Max(0, p.x(m.Wide.Low)), math.Min(100, p.x(m.Wide.High)), p.within(m.Upright.Low), p.within(m.Upright.High), "data-band", 0.5)
			}
		}
	}
	p.across()
	p.upright()
	for _, l := range p.Layers {
		p.layer(l)
	}
	p.names()
}

// down is how far below the middle of its row a mark lies; in low rows all lie nearer.
func (p *pen) down(m Mark) float64 {
	if !p.chart.Tight {
		return p.offset(m)
	}
	row := p.Height / float64(len(p.Y.Rows))
	return math.Max(0, row/2-rowFoot) - m.Up*math.Min(1, row/(rowFoot+p.Y.Clear+nameStep))
}

// within is the place of a number upright, kept in the field.
func (p *pen) within(v float64) float64 {
	return math.Min(math.Max(p.y(v), p.Top), p.Top+p.Height)
}

// across draws the axis across.
func (p *pen) across() {
	foot := p.Top + p.Height
	for i, r := range p.X.Rows {
		p.column(i, r.Name)
	}
	if len(p.X.Rows) > 0 {
		p.text(50, 14, text{anchor: "middle", colour: "quiet", bold: true, size: smallSize}, p.X.Title)
		return
	}
	last := -100.0
	for i, t := range p.X.Ticks {
		x := p.x(t.At)
		if len(p.Y.Rows) > 0 {
			p.line(x, p.Top, x, foot, "rule", 1, "")
		} else {
			p.line(x, foot, x, foot+4, "edge", 1, "")
		}
		anchor := "middle"
		if len(p.Y.Rows) > 0 && x < 1 {
			anchor = "start"
		}
		if x > 99 {
			anchor = "end"
		}
		// On a phone 300 px remain; between ticks that are nearer than words some are left out there.
		half := svg.Width(t.Text, smallSize) / 6
		if p.X.Bare {
			continue
		}
		word := small(anchor)
		word.roomy = i > 0 && i < len(p.X.Ticks)-1 && x-half < last
		if !word.roomy {
			last = x + half + 2
		}
		p.text(x, foot+17, word, t.Text)
	}
	if len(p.Y.Rows) == 0 {
		p.line(0, foot, 100, foot, "edge", 1.5, "")
	}
	p.text(50, foot+36, small("middle"), p.X.Title)
}

// column names a column, standing on end where names don't fit beside each other.
func (p *pen) column(i int, name string) {
	x := 100 * p.X.at(float64(i))
	if onEnd(p.X.Rows) {
		p.at(x, p.Top-8, svg.Fill(`<text transform="rotate(-90)" y="4" font-weight="600" font-size="%v" fill="%v">%v</text>`, smallSize, paint("ink"), svg.Escape(svg.Lines(name, smallSize, 116, 1)[0])))
		return
	}
	words := strings.Fields(name)
	for j, w := range words {
		p.text(x, p.Top-8-15*float64(len(words)-1-j), text{anchor: "middle", bold: true, size: smallSize, colour: "ink"}, w)
	}
}

// upright draws the axis up.
func (p *pen) upright() {
	if len(p.Y.Rows) > 0 {
		return
	}
	for _, t := range p.Y.Ticks {
		y := p.y(t.At)
		p.line(0, y, 100, y, "rule", 1, ` opacity="0.6"`)
		if !p.Y.Bare {
			word := small("end")
			word.dx = -8
			p.text(0, y+4.5, word, t.Text)
		}
	}
	word := small("start")
	word.dx = 8 - p.chart.Left
	p.text(0, p.Top-12, word, p.Y.Title)
}

// names writes those of rows, above their marks or beside cells.
func (p *pen) names() {
	if len(p.Y.Rows) == 0 {
		return
	}
	height := p.Height / float64(len(p.Y.Rows))
	for i, r := range p.Y.Rows {
		middle := p.y(float64(i))
		lines := strings.Split(r.Name, "\n")
		if p.chart.Tight || p.chart.Scale != nil {
			p.beside(r, lines, middle)
			continue
		}
		bottom := middle + height/2 - rowFoot - p.Y.Clear - 4
		if r.Heading {
			bottom += headingDrop
		}
		for j, line := range lines {
			y := bottom - nameStep*float64(len(lines)-1-j)
			after := ""
			if j == len(lines)-1 {
				after = p.after(r)
			}
			p.Put(`<text x="0%%" y="%v" dx="%v" font-size="%v" fill="%v"%v><tspan font-weight="%v">%v</tspan>%v</text>`, y, 4-p.chart.Left, float64(nameSize), paint("ink"), halo, weight(r.Heading), svg.Escape(line), after)
		}
	}
	p.text(0, p.Top-8, text{dx: -14, anchor: "end", colour: "quiet", bold: true, size: smallSize}, p.Y.Title)
	if p.chart.Behind != "" {
		word := small("start")
		word.dx = 20
		p.text(100, p.Top-8, word, p.chart.Behind)
	}
}

// beside names a row to the left of it.
func (p *pen) beside(r Row, lines []string, middle float64) {
	t := text{dx: -14, anchor: "end", colour: "ink", bold: true, size: textSize}
	if p.chart.Tight {
		t.size = 12
		lines = svg.Lines(strings.Join(lines, " "), t.size, p.chart.Left-18-svg.Width(r.Value, t.size), 1)
		lines[0] += " " + r.Value
	}
	for j, line := range lines {
		p.text(0, middle+5+nameStep*(float64(j)-float64(len(lines)-1)/2), t, line)
	}
}

func weight(heading bool) string {
	if heading {
		return "700"
	}
	return "600"
}

// after is what follows the name of a row: its number, and a note.
func (p *pen) after(r Row) string {
	text := ""
	if r.Value != "" {
		text = fmt.Sprintf(`<tspan dx="8">%s</tspan>`, svg.Escape(r.Value))
	}
	if r.Note != "" {
		text += svg.Fill(`<tspan dx="8" font-size="%v" fill="%v">%v</tspan>`, smallSize, paint("quiet"), svg.Escape(r.Note))
	}
	return text
}

func (p *pen) layer(l Layer) {
	if l.Shape == Line {
		p.through(l)
		return
	}
	for i, m := range l.Marks {
		switch l.Shape {
		case Points:
			p.point(l, m, i)
		case Bars:
			p.rect(math.Max(0, p.x(m.Wide.Low)), math.Min(100, p.x(m.Wide.High)), p.y(0), p.y(m.Y), barColour(m), 1)
			p.text(p.x(m.X), p.y(m.Y)-4, text{anchor: "middle", colour: "ink", size: smallSize, halo: true, roomy: len(l.Marks) > 7}, barLabel(l, m))
		case Cells:
			p.cell(m)
		case Levels:
			p.level(m)
		case Words:
			t := text{anchor: "middle", colour: tone(l.Tone), size: smallSize}
			if l.Dash {
				t.anchor, t.bold, t.dx = "start", true, 8-p.chart.Left
			}
			p.text(p.x(m.X), p.y(m.Y)+4, t, m.Label)
		}
	}
}

func barColour(m Mark) string {
	if m.Look == LookDiffers {
		return "data-1"
	}
	return "edge"
}

// barLabel is written where bars have room for words.
func barLabel(l Layer, m Mark) string {
	if len(l.Marks) > 24 {
		return ""
	}
	return m.Label
}

// through draws one line through the marks of a layer, in its band. It is drawn on
// a ground of 1000 that stretches with the field, while lines keep their width.
func (p *pen) through(l Layer) {
	path := func(marks []Mark, begin string, at func(Mark) float64, step bool) string {
		var b strings.Builder
		y := 0.0
		for _, m := range marks {
			x := 1000 * p.X.at(m.X)
			if step && b.Len() > 0 {
				fmt.Fprintf(&b, "L%s %s", svg.Num(x), svg.Num(y))
			}
			y = p.within(at(m)) - p.Top
			fmt.Fprintf(&b, "%s%s %s", begin, svg.Num(x), svg.Num(y))
			begin = "L"
		}
		return b.String()
	}
	p.Put(`<svg y="%v" width="100%%" height="%v" viewBox="0 0 1000 %v" preserveAspectRatio="none">`, p.Top, p.Height, p.Height)
	if high, low := l.band(); len(high) > 0 {
		up := func(m Mark) float64 { return m.Y }
		p.Put(`<path d="%v%vZ" fill="%v" opacity="%v"/>`, path(high, "M", up, false), path(low, "L", up, false), paint(tone(l.Tone)), bandOpacity(l))
	}
	colour, dash, width := tone(l.Tone), "", 2.5
	switch {
	case l.Dash:
		dash, width = ` stroke-dasharray="6 4"`, 2
	case l.Small:
		colour, width = "edge", 1
	}
	p.Put(`<path d="%v" fill="none" stroke="%v" stroke-width="%v"%v vector-effect="non-scaling-stroke"/></svg>`, path(l.Marks, "M", func(m Mark) float64 { return m.Y }, l.Step), paint(colour), width, dash)
}

// band is the way along the upper ends of a line's intervals, and back along the lower.
func (l Layer) band() (there, back []Mark) {
	for _, m := range l.Marks {
		if m.Upright == nil {
			continue
		}
		if n := len(there); l.Step && n > 0 {
			there, back = append(there, Mark{X: m.X, Y: there[n-1].Y}), append(back, Mark{X: m.X, Y: back[n-1].Y})
		}
		there, back = append(there, Mark{X: m.X, Y: m.Upright.High}), append(back, Mark{X: m.X, Y: m.Upright.Low})
	}
	for i, j := 0, len(back)-1; i < j; i, j = i+1, j-1 {
		back[i], back[j] = back[j], back[i]
	}
	return there, back
}

func bandOpacity(l Layer) float64 {
	if l.Step {
		return 0.13
	}
	return 0.22
}

// arrows are heads at the place where an interval goes on beyond the edge.
const arrows = `<path d="%s" fill="%s"/>`

func (p *pen) point(l Layer, m Mark, i int) {
	k := l.lookOf(m)
	x, y := p.x(m.X), p.y(m.Y)+p.down(m)
	if s := m.Across; s != nil {
		x1, x2 := math.Max(0, p.x(s.Low)), math.Min(100, p.x(s.High))
		p.line(x1, y, math.Max(x1, x2), y, k.line, 3, "")
		if p.X.at(s.High) > 1 {
			p.at(100, y, svg.Fill(arrows, "M0 -6L9 0L0 6Z", paint(k.line)))
		}
		if p.X.at(s.Low) < 0 {
			p.at(0, y, svg.Fill(arrows, "M0 -6L-9 0L0 6Z", paint(k.line)))
		}
	}
	top := y - m.Radius
	if s := m.Upright; s != nil {
		y1, y2 := p.within(s.Low), p.within(s.High)
		if m.Wide != nil {
			x1, x2 := math.Max(0, p.x(m.Wide.Low)), math.Min(100, p.x(m.Wide.High))
			p.rect(x1, x2, y1, y2, k.line, 0.28)
			p.line(x1, y, x2, y, k.line, 3, "")
		} else {
			p.line(x, y1, x, y2, k.line, 3, "")
		}
		if p.Y.at(s.High) > 1 {
			p.at(x, p.Top, svg.Fill(arrows, "M-6 0L0 -9L6 0Z", paint(k.line)))
			y2 -= 9
		}
		top = math.Min(top, y2)
	}
	if m.Ring != 0 {
		p.at(math.Min(100, math.Max(0, p.x(m.Ring))), y, ring)
	}
	if p.chart.Behind != "" && m.Note != "" {
		p.exposure(m, y)
	}
	r := m.Radius
	if k.form == LookSlipped || k.form == LookBeyond {
		r = 4.5
	}
	p.at(x, y, k.symbol(r))
	p.label(l, m, x, y, top, i)
}

// exposure writes what is behind a mark beside its row, over a bar.
func (p *pen) exposure(m Mark, y float64) {
	word := small("start")
	word.dx = 20
	room := besideRows - 24.0
	up := 9.0
	if p.chart.Tight { // the word stands beside the bar
		word.dx, room, up = 44, 20, -4
	}
	p.text(100, y-up, word, m.Note)
	p.at(100, y, svg.Fill(`<rect x="20" y="-4" width="%v" height="7" fill="%v"/>`, svg.Num(math.Max(1.5, m.Share*room)), paint("edge")))
}

// label stands above a mark, or beside one of several that are crossed.
func (p *pen) label(l Layer, m Mark, x, y, top float64, i int) {
	if m.Label == "" || len(p.Y.Rows) > 0 {
		return
	}
	t := text{anchor: "middle", bold: true, colour: "ink", halo: true, roomy: len(l.Marks) > 7}
	if m.Across == nil {
		y = math.Max(top, p.Top-9) - 6
		if x-p.said[0] < 9 && math.Abs(y-p.said[1]) < 13 && i > 0 { // one near the last stands a line higher
			y = p.said[1] - 13
		}
		p.said = [2]float64{x, y}
		switch {
		case x < 4:
			t.anchor = "start"
		case x > 94:
			t.anchor = "end"
		}
		p.text(x, y, t, m.Label)
		return
	}
	side := sides(p.Field, l.Marks)[i]
	t.anchor, t.dx, t.roomy = anchors[side.align], side.across, false
	p.text(x, y+side.up+5, t, m.Label)
}

// side is where a label begins, or ends if it is aligned to the right, in px from its mark.
type side struct {
	align      string
	across, up float64
}

// sides gives each label of marks that are crossed a place where no other mark and no
// label before it is, and within the field, as far as a phone has room.
func sides(f Field, marks []Mark) []side {
	const wide, most = 300.0, 308.0
	type box struct{ left, right, top, foot float64 }
	var taken []box
	at := func(m Mark) (x, y float64) { return wide * f.X.at(m.X), f.Height * (1 - f.Y.at(m.Y)) }
	for _, m := range marks {
		x, y := at(m)
		taken = append(taken, box{x - 8, x + 8, y - 8, y + 8})
	}
	var list []side
	for _, m := range marks {
		x, y := at(m)
		room := svg.Width(m.Label, textSize)
		right, left := math.Min(9, most-room-x), math.Max(-9, room-x-30)
		var best side
		var kept box
		least := math.Inf(1)
		for _, s := range []side{{"left", right, -12}, {"right", left, -12}, {"left", right, 13}, {"right", left, 13}} {
			b := box{x + s.across, x + s.across + room, y + s.up - 8, y + s.up + 8}
			if s.align == "right" {
				b.left, b.right = b.left-room, b.right-room
			}
			cost := math.Abs(math.Abs(s.across) - 9)
			for _, o := range taken {
				if b.left < o.right && o.left < b.right && b.top < o.foot && o.top < b.foot {
					cost += 1000
				}
			}
			if cost < least {
				best, least, kept = s, cost, b
			}
		}
		list, taken = append(list, best), append(taken, kept)
	}
	return list
}

// besideLevel tells where the name of an upright line at a part of the width has room.
func besideLevel(at float64, name string) string {
	const narrow = 300
	wide := svg.Width(name, smallSize) / narrow
	switch {
	case at < 0.5 && at+wide < 1.05:
		return "left"
	case at >= 0.5 && at-wide > -0.05:
		return "right"
	}
	return "center"
}

// anchors are the words of SVG for how text is aligned.
var anchors = map[string]string{"left": "start", "right": "end", "center": "middle"}

func (p *pen) level(m Mark) {
	name := m.Label
	if math.IsNaN(m.Y) {
		x := p.x(m.X)
		p.line(x, p.Top-4, x, p.Top+p.Height, "ink", 1, ` stroke-dasharray="4"`)
		if name == "" {
			name = m.Name
		}
		p.text(x, p.Top-9, small(anchors[besideLevel(x/100, name)]), name)
		return
	}
	y := p.y(m.Y)
	p.line(0, y, 100, y, "ink", 1, ` stroke-dasharray="4"`)
	word, x := small("end"), 100.0
	if !math.IsNaN(m.X) {
		word, x = small("start"), 0.5
	}
	word.halo = true
	p.text(x, y-4, word, name)
}
