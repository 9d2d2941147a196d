package charts

import (
	"fmt"
	"hash/fnv"
	"html/template"
	"math"
	"slices"
	"strings"

	"rigtally/internal/svg"
)

const (
	drawnFont    = `system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Helvetica Neue", sans-serif`
	sheet        = 820 // px, what a sheet of paper holds beside heading and key
	legendHeight = 104
	leastRow     = 18  // px, of a row that can still be read on paper
	phone        = 300 // px, a field on a phone
)

// SVG is the figure as a part of a page, described by what is to be spoken. One that is
// taller than a sheet comes with a tighter one for paper.
//
// Places across are parts of a field's width, which is 100% of the element's, so that
// a drawing stretches with its page while heights and letters keep their size. The room
// beside the fields is the element's padding: see static/drawn.css.
func (c Chart) SVG(spoken string) template.HTML {
	kind := "numbers"
	switch {
	case c.Scale != nil:
		kind = "cells"
	case c.Behind != "":
		kind = "behind"
	case c.inRows():
		kind = "rows"
	case c.Left == besideFlow:
		kind = "flow"
	}
	element := func(c Chart, class string, more ...any) template.HTML {
		return template.HTML(svg.Element("svg", c.draw(), append([]any{"class", "drawn " + class + "drawn-" + kind, "data-beside", svg.Num(c.Left) + " " + svg.Num(c.Right),
			"width", "100%", "height", c.Height, "font-size", 13, "font-family", drawnFont}, more...)...))
	}
	if tight, ok := c.tighter(); ok {
		return element(c, "drawn-tall ", "role", "img", "aria-label", spoken) + element(tight, "drawn-tight ", "aria-hidden", "true")
	}
	return element(c, "", "role", "img", "aria-label", spoken)
}

func (c Chart) inRows() bool { return len(c.Fields) == 1 && len(c.Fields[0].Y.Rows) > 0 }

// tighter is a chart of many rows drawn so that a sheet holds it, with names beside the marks.
func (c Chart) tighter() (Chart, bool) {
	room := float64(sheet)
	if c.Scale != nil {
		room -= legendHeight
	}
	if !c.inRows() || c.Height <= room {
		return c, false
	}
	f := c.Fields[0]
	less := math.Min(c.Height-room, f.Height-leastRow*float64(len(f.Y.Rows)))
	f.Height -= less
	c.Fields, c.Height, c.Tight = []Field{f}, c.Height-less, true
	if c.Scale == nil {
		c.Left = besideTight
	}
	return c, true
}

// File is the figure as a file of its own, with its title and key, on light paper.
func (c Chart) File(title, spoken string) string {
	const width, margin, head, row = 760.0, 20.0, 44.0, 22.0
	var w svg.Writer
	w.Element("title", svg.Escape(title))
	w.Element("desc", svg.Escape(spoken))
	w.Element("rect", "", "width", "100%", "height", "100%", "fill", paint("paper"))
	w.Element("text", svg.Escape(title), "x", margin, "y", 28, "font-size", 16, "font-weight", 700, "fill", paint("ink"))
	for i, k := range c.Key {
		x, y := margin+float64(i%2)*(width/2)+6, head+row*float64(i/2)+6
		w.Element("svg", k.sign()+svg.Element("text", svg.Escape(k.Text), "x", 16, "y", 5, "fill", paint("ink")), "x", x, "y", y, "overflow", "visible")
	}
	top := head + row*float64((len(c.Key)+1)/2)
	w.Element("svg", c.draw(), "x", margin+c.Left, "y", top, "width", width-2*margin-c.Left-c.Right, "height", c.Height, "overflow", "visible")
	return onLightPaper(svg.Element("svg", w.String(), "xmlns", "http://www.w3.org/2000/svg", "width", width, "height", top+c.Height+margin,
		"font-size", 13, "font-family", drawnFont, "role", "img", "aria-label", title))
}

func (c Chart) draw() string {
	p := &pen{chart: c}
	for _, f := range c.Fields {
		p.Field, p.taken = f, nil
		p.field()
	}
	return p.String()
}

// pen draws a field of a chart.
type pen struct {
	svg.Writer
	Field
	chart Chart
	taken []box // by labels of the field
}

// x is the place of a number across, in percent, kept in the field.
func (p *pen) x(v float64) float64 { return 100 * math.Min(math.Max(p.X.at(v), 0), 1) }

// y is the place of a number upright, or of a row, kept in the field.
func (p *pen) y(v float64) float64 {
	part := math.Min(math.Max(p.Y.at(v), 0), 1)
	if len(p.Y.Rows) == 0 {
		part = 1 - part
	}
	return p.Top + p.Height*part
}

// at draws something around a place.
func (p *pen) at(x, y float64, drawn string) {
	p.Element("svg", drawn, "x", svg.Percent(x), "y", y, "overflow", "visible")
}

func (p *pen) rect(x1, x2, y1, y2 float64, colour string, opacity float64) {
	if opacity > 0 {
		p.Element("rect", "", "x", svg.Percent(x1), "y", math.Min(y1, y2), "width", svg.Percent(x2-x1), "height", math.Abs(y2-y1), "fill", paint(colour), "fill-opacity", opacity)
	}
}

func (p *pen) line(x1, y1, x2, y2 float64, colour string, width float64, dash string) {
	p.Element("line", "", "x1", svg.Percent(x1), "y1", y1, "x2", svg.Percent(x2), "y2", y2, "stroke", paint(colour), "stroke-width", width, "stroke-dasharray", dash)
}

// upLine is a line upright. Among rows it stops short of their names.
func (p *pen) upLine(x float64, colour, dash string) {
	foot := p.Top + p.Height
	if len(p.Y.Rows) == 0 || p.chart.Tight {
		p.line(x, p.Top, x, foot, colour, 1, dash)
		return
	}
	row := p.Height / float64(len(p.Y.Rows))
	for i, r := range p.Y.Rows {
		end := p.Top + row*float64(i+1)
		switch {
		case r.Name == "":
			p.line(x, end-row, x, end, colour, 1, dash)
		case !r.Heading:
			p.line(x, end-rowFoot-p.Y.Clear+2, x, end, colour, 1, dash)
		}
	}
}

// text is how words are written.
type text struct {
	dx, size float64
	anchor   string // start, middle or end
	colour   string
	weight   int
	halo     bool // kept clear of what is behind it
	roomy    bool // left out on narrow screens
}

// small is how the words of axes are written, and strong how those of marks.
func small(anchor string, dx float64) text {
	return text{anchor: anchor, dx: dx, colour: "quiet", size: smallSize}
}

func strong(anchor string) text { return text{anchor: anchor, weight: 600, colour: "ink", halo: true} }

func (p *pen) text(x, y float64, t text, words string) { p.rich(x, y, t, svg.Escape(words)) }

// rich writes words that may hold elements.
func (p *pen) rich(x, y float64, t text, words string) {
	if words == "" {
		return
	}
	attributes := []any{"x", svg.Percent(x), "y", y, "dx", t.dx, "text-anchor", t.anchor, "fill", paint(t.colour), "font-size", t.size, "font-weight", t.weight}
	if t.halo {
		attributes = append(attributes, "paint-order", "stroke", "stroke", paint("paper"), "stroke-width", 5, "stroke-linejoin", "round")
	}
	if t.roomy {
		attributes = append(attributes, "class", "roomy")
	}
	p.Element("text", words, attributes...)
}

func (p *pen) field() {
	for _, l := range p.Layers {
		if l.Shape == Washes {
			for _, m := range l.Marks {
				p.rect(p.x(m.Wide.Low), p.x(m.Wide.High), p.y(m.Upright.Low), p.y(m.Upright.High), "data-band", l.opacity())
			}
		}
	}
	p.across()
	p.upright()
	for _, l := range p.Layers {
		p.layer(l)
	}
	p.beside()
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

// across draws the axis across. Where ticks are nearer to each other than their words
// on a phone, some of the words are left out there.
func (p *pen) across() {
	rows, foot := len(p.Y.Rows) > 0, p.Top+p.Height
	for i, r := range p.X.Rows {
		p.column(100*p.X.at(float64(i)), r.Name)
	}
	if len(p.X.Rows) > 0 {
		p.text(50, 14, text{anchor: "middle", colour: "quiet", weight: 600, size: smallSize}, p.X.Title)
		return
	}
	if p.X.Hung > 0 {
		p.tags()
		return
	}
	if !rows {
		p.line(0, foot, 100, foot, "edge", 1.5, "")
	}
	free, last := -100.0, 100.0 // between the words before and the last ones, which stand within the field
	if n := len(p.X.Ticks); n > 0 {
		last -= 100*svg.Width(p.X.Ticks[n-1].Text, smallSize)/phone + 2
	}
	for i, t := range p.X.Ticks {
		x := p.x(t.At)
		word := small("middle", 0)
		switch {
		case rows && x < 1:
			word.anchor = "start"
		case x > 99:
			word.anchor = "end"
		}
		if rows {
			p.upLine(x, "rule", "")
		} else {
			p.line(x, foot, x, foot+4, "edge", 1, "")
		}
		half := 50 * svg.Width(t.Text, smallSize) / phone
		if word.roomy = t.Spare || i > 0 && i < len(p.X.Ticks)-1 && (x-half < free || x+half > last); !word.roomy {
			free = x + half + 2
			if word.anchor == "start" {
				free += half
			}
		}
		if !p.X.Bare {
			p.text(x, foot+17, word, t.Text)
		}
	}
	p.text(50, foot+36, small("middle", 0), p.X.Title)
}

// column names a column, standing on end where names don't fit beside each other.
func (p *pen) column(x float64, name string) {
	words := strings.Fields(name)
	if onEnd(p.X.Rows) {
		p.at(x, p.Top-8, svg.Element("text", svg.Escape(svg.Lines(name, smallSize, 116, 1)[0]), "transform", "rotate(-90)", "y", 4, "font-weight", 600, "font-size", smallSize, "fill", paint("ink")))
		return
	}
	for j, w := range words {
		t := strong("middle")
		t.size = smallSize
		p.text(x, p.Top-8-15*float64(len(words)-1-j), t, w)
	}
}

// upright draws the axis up, if it has numbers.
func (p *pen) upright() {
	for _, t := range p.Y.Ticks {
		y := p.y(t.At)
		p.line(0, y, 100, y, "rule", 1, "")
		p.text(0, y+4.5, small("end", -8), t.Text)
	}
	if len(p.Y.Rows) > 0 {
		return
	}
	p.text(0, p.Top-12, small("start", 8-p.chart.Left), p.Y.Title)
	heading := strong("start")
	if heading.dx = 8 - p.chart.Left; p.Knot != "" {
		p.at(0, p.Top-17, svg.Element("g", knots[p.Knot].symbol(5), "transform", svg.Format("translate(%v)", 14-p.chart.Left)))
		heading.dx += 18
	}
	p.text(0, p.Top-12, heading, p.Name)
}

// names writes those of rows, above their marks or, beside cells and low rows, to the left.
func (p *pen) names() {
	row := p.Height / float64(len(p.Y.Rows))
	for i, r := range p.Y.Rows {
		t := strong("start")
		t.size, t.dx = nameSize, 4-p.chart.Left
		lines := strings.Split(r.Name, "\n")
		y := p.y(float64(i)) + row/2 - rowFoot - p.Y.Clear - 4
		if r.Heading {
			t.weight, y = 700, y+headingDrop
		}
		if p.chart.Tight || p.chart.Scale != nil {
			t.size, t.dx, t.anchor = textSize, -14, "end"
			if p.chart.Tight {
				t.size = 12
				lines = svg.Lines(strings.Join(lines, " "), t.size, p.chart.Left-40-svg.Width(r.Value, t.size), 1)
			}
			y = p.y(float64(i)) + 5 + nameStep*float64(len(lines)-1)/2
		}
		for j, line := range lines {
			words := svg.Escape(line)
			if j == len(lines)-1 {
				words += aside(r.Value, t.size, "ink") + aside(r.Note, smallSize, "quiet")
			}
			p.rich(0, y-nameStep*float64(len(lines)-1-j), t, words)
		}
	}
	if len(p.Y.Rows) > 0 {
		p.text(0, p.Top-8, text{dx: -14, anchor: "end", colour: "quiet", weight: 600, size: smallSize}, p.Y.Title)
		p.text(100, p.Top-8, small("start", 20), p.chart.Behind)
	}
}

// aside follows the name of a row.
func aside(words string, size float64, colour string) string {
	if words == "" {
		return ""
	}
	return svg.Element("tspan", svg.Escape(words), "dx", 8, "font-weight", 400, "font-size", size, "fill", paint(colour))
}

func (p *pen) layer(l Layer) {
	if l.Shape == Line {
		p.through(l)
	}
	for _, m := range l.Marks {
		switch l.Shape {
		case Points:
			p.told(m, p.ground(m), func() { p.point(l, m) })
		case Stops:
			p.told(m, p.ground(m), func() {
				x := p.x(m.X)
				p.WriteString(`<g class="stop" opacity="0">`)
				p.line(x, p.Top, x, p.Top+p.Height, "edge", 1, "")
				p.at(x, p.y(m.Y), look{form: "circle", fill: "paper", line: "data-1"}.symbol(5.5))
				p.WriteString("</g>")
			})
		case Bars:
			p.rect(p.x(m.Wide.Low), p.x(m.Wide.High), p.y(0), p.y(m.Y), barColour(m), 1)
			t := text{anchor: "middle", colour: "ink", size: smallSize, halo: true}
			t.roomy = svg.Width(m.Label, smallSize) > 4+phone*(p.X.at(m.Wide.High)-p.X.at(m.Wide.Low))
			p.text(p.x(m.X), p.y(m.Y)-4, t, barLabel(l, m))
		case Cells:
			p.told(m, "", func() { p.cell(m) })
		case Levels:
			p.level(m)
		case Spells:
			p.spell(m, l.Small)
		case Gaps:
			p.gap(m)
		case Words:
			t := text{anchor: "middle", colour: "ink", size: smallSize}
			p.text(p.x(m.X), p.y(m.Y)+4-m.Up, t, m.Label)
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
	path := func(marks []Mark, step bool) string {
		var w svg.Writer
		y := 0.0
		for i, m := range marks {
			x := 1000 * p.X.at(m.X)
			if step && i > 0 {
				w.Put("L%v %v", x, y)
			}
			y = p.y(m.Y) - p.Top
			w.Put("%v%v %v", string("ML"[min(i, 1)]), x, y)
		}
		return w.String()
	}
	colour, width, dash := l.stroke()
	if l.Dash {
		dash = "6 4"
	}
	drawn := svg.Element("path", "", "d", path(l.Marks, l.Step), "fill", "none", "stroke", paint(colour), "stroke-width", width, "stroke-dasharray", dash, "vector-effect", "non-scaling-stroke")
	if l.Ground && len(l.Marks) > 0 {
		first, last, foot := p.X.at(l.Marks[0].X), p.X.at(l.Marks[len(l.Marks)-1].X), p.Height
		drawn = svg.Element("path", "", "d", path(l.Marks, l.Step)+svg.Format("L%v %vL%v %vZ", 1000*last, foot, 1000*first, foot), "fill", paint("data-band")) + drawn
	}
	if band := l.band(); len(band) > 0 {
		drawn = p.ribbon(l, path(band, false)+"Z", colour) + drawn
	}
	p.Element("svg", drawn, "y", p.Top, "width", "100%", "height", p.Height, "viewBox", "0 0 1000 "+svg.Num(p.Height), "preserveAspectRatio", "none")
}

// ribbon fills a band that fades where it widens.
func (p *pen) ribbon(l Layer, path, colour string) string {
	const deepest = 0.34
	var ends []Mark
	for _, m := range l.Marks {
		if m.Upright != nil {
			ends = append(ends, m)
		}
	}
	from, to := p.X.at(ends[0].X), p.X.at(ends[len(ends)-1].X)
	stops := ""
	for _, m := range ends {
		faint := (ink(p.Y.covers(m.Upright)) - leastInk) / (1 - leastInk)
		stops += svg.Element("stop", "", "offset", svg.Percent(100*(p.X.at(m.X)-from)/math.Max(to-from, 1e-9)), "stop-color", paint(colour), "stop-opacity", math.Max(0.05, deepest*faint))
	}
	h := fnv.New32a()
	_, _ = h.Write([]byte(stops)) // a hash takes everything; equal gradients may share a name
	id := fmt.Sprintf("ribbon-%08x", h.Sum32())
	return svg.Element("linearGradient", stops, "id", id) + svg.Element("path", "", "d", path, "fill", "url(#"+id+")")
}

// opacity is that of a layer's ground.
func (l Layer) opacity() float64 {
	if l.Strong {
		return 1
	}
	return 0.5
}

// stroke is how the line of a layer is drawn.
func (l Layer) stroke() (colour string, width float64, dash string) {
	switch {
	case l.Small:
		return "rule", 1.5, ""
	case l.Loose:
		return tone(l.Tone), 1.5, ""
	case l.Knot != "":
		return knots[l.Knot].line, 2.5, ""
	}
	return tone(l.Tone), 2.5, map[int]string{3: "1 4", 4: "10 4"}[l.Tone]
}

// band goes along the upper ends of a line's intervals and back along the lower.
func (l Layer) band() []Mark {
	var there, back []Mark
	for _, m := range l.Marks {
		if m.Upright == nil {
			continue
		}
		if n := len(there); l.Step && n > 0 {
			there, back = append(there, Mark{X: m.X, Y: there[n-1].Y}), append(back, Mark{X: m.X, Y: back[n-1].Y})
		}
		there, back = append(there, Mark{X: m.X, Y: m.Upright.High}), append(back, Mark{X: m.X, Y: m.Upright.Low})
	}
	slices.Reverse(back)
	return append(there, back...)
}

func (p *pen) level(m Mark) {
	if m.upright() {
		x := p.x(m.X)
		p.upLine(x, "ink", "4")
		p.text(x, p.Top-9, small(anchors[besideLevel(x/100, m.Label)], 0), m.Label)
		return
	}
	p.line(0, p.y(m.Y), 100, p.y(m.Y), "ink", 1, "4")
}

// upright tells whether a level goes up.
func (m Mark) upright() bool { return math.IsNaN(m.Y) }
