package charts

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"rigtally/internal/svg"
)

// fading is how much of the neutral colour is mixed into a cell's, by its fade.
var fading = []float64{0, 0.4, 0.72, 0.93}

// shade is the colour of a cell: on the way between two colours of the scale.
type shade struct {
	from int     // of the colours heat-1 to heat-5
	part float64 // of the way to the next
	fade float64
}

func shadeOf(heat float64, fade int) shade {
	place := 4 * math.Min(math.Max(heat, 0), 1)
	from := math.Min(math.Floor(place), 3)
	return shade{int(from) + 1, place - from, fading[fade]}
}

// mixed is the colour as a style writes it.
func (s shade) mixed() string {
	heat := func(i int) string { return paint(fmt.Sprintf("heat-%d", i)) }
	mix := func(a, b string, part float64) string {
		return "color-mix(in srgb, " + a + ", " + b + " " + svg.Num(100*part) + "%)"
	}
	return mix(mix(heat(s.from), heat(s.from+1), s.part), paint("heat-none"), s.fade)
}

// onHeat is the colour of words on a cell: ink on what is pale in both schemes, paper
// on what is deep, and between them the one that a scheme says.
func onHeat(heat float64, fade int) string {
	ends := [][2]float64{{0.365, 0.57}, {0.61, 0.94}, {2, 2}, {2, 2}}[fade]
	switch {
	case math.IsNaN(heat) || heat < ends[0]:
		return "ink"
	case heat < ends[1]:
		return "heat-middle"
	}
	return "paper"
}

// cellSize is the size at which the widest label of cells has room on a phone.
func cellSize(columns int) float64 {
	switch each := 238 / float64(max(columns, 1)); {
	case each >= 44:
		return textSize
	case each >= 36:
		return 12
	}
	return 11
}

// onEnd tells whether the names of columns stand on end, because even the widest word
// has no room beside its neighbors on a phone.
func onEnd(columns []Row) bool {
	word := 0
	for _, c := range columns {
		for _, w := range strings.Fields(c.Name) {
			word = max(word, len([]rune(w)))
		}
	}
	return word*8+6 > 230/max(len(columns), 1)
}

// cell says its number where there is room, and its exposure below. It is painted in
// layers, since not every program that draws SVG can mix colours.
func (p *pen) cell(m Mark) {
	columns := len(p.X.Rows)
	width, height := 100/float64(columns), p.Height/float64(len(p.Y.Rows))
	x, y := 100*p.X.at(m.X), p.y(m.Y)
	left, top := x-width/2, y-height/2
	if math.IsNaN(m.Heat) {
		p.rect(left, left+width, top, top+height, "paper", 1)
	} else {
		s := shadeOf(m.Heat, m.Fade)
		p.rect(left, left+width, top, top+height, fmt.Sprintf("heat-%d", s.from), 1)
		p.rect(left, left+width, top, top+height, fmt.Sprintf("heat-%d", s.from+1), s.part)
		p.rect(left, left+width, top, top+height, "heat-none", s.fade)
	}
	p.Element("rect", "", "x", svg.Percent(left), "y", top, "width", svg.Percent(width), "height", height, "fill", "none", "stroke", paint("paper"), "stroke-width", 2)
	ink := onHeat(m.Heat, m.Fade)
	bar := left + width*0.08
	p.rect(bar, bar+math.Max(0.3, width*0.84*m.Share), top+height-8, top+height-5, ink, 0.65)
	narrow := 238/float64(columns) < 30
	t := text{anchor: "middle", colour: ink, size: cellSize(columns), roomy: narrow}
	if m.Fade < 2 {
		t.weight = 600
	}
	p.text(x, y+1, t, m.Label+verdictSign(m.Look))
	if height > 42 {
		p.text(x, y+14, text{anchor: "middle", colour: ink, size: 11.5, roomy: columns > 4}, m.Note)
	}
}

// verdictSign is written after the number of a cell; one that is open has none.
func verdictSign(look string) string {
	return map[string]string{LookReference: " ◆", LookDiffers: " ●", LookLeans: " ○"}[look]
}

// Legend is the scale of a heat map: colours to the right, fading downward.
func (c Chart) Legend() template.HTML {
	if c.Scale == nil {
		return ""
	}
	const left, top, width, step = 2.0, 26.0, 190.0, 14.0
	var w svg.Writer
	write := func(x, y float64, t text, words string) {
		w.Element("text", svg.Escape(words), "x", x, "y", y, "text-anchor", t.anchor, "fill", paint(t.colour), "font-weight", t.weight)
	}
	stops := ""
	for i := range 5 {
		stops += svg.Element("stop", "", "offset", svg.Percent(25*i), "stop-color", paint(fmt.Sprintf("heat-%d", i+1)))
	}
	w.Element("linearGradient", stops, "id", "heat")
	write(left, top-8, strong("start"), c.Scale.Title)
	for i, words := range c.Scale.Fades {
		y := top + step*float64(i)
		row := []any{"x", left, "y", y, "width", width, "height", step - 1}
		w.Element("rect", "", append(row, "fill", "url(#heat)")...)
		if fading[i] > 0 {
			w.Element("rect", "", append(row, "fill", paint("heat-none"), "fill-opacity", fading[i])...)
		}
		write(left+width+8, y+11, small("start", 0), words)
	}
	foot := top + step*float64(len(c.Scale.Fades)) + 16
	free, last := left, len(c.Scale.Ticks)-1 // what lies between the ends is written where there is room
	for i, t := range c.Scale.Ticks {
		x, half := left+width*t.At, svg.Width(t.Text, smallSize)/2
		anchor := "middle"
		switch {
		case i == 0:
			anchor, half = "start", 2*half
		case i == last:
			anchor = "end"
		case x-half < free || x+half > left+width-svg.Width(c.Scale.Ticks[last].Text, smallSize)-8:
			continue
		}
		free = x + half + 8
		write(x, foot, small(anchor, 0), t.Text)
	}
	return template.HTML(svg.Element("svg", w.String(), "class", "drawn drawn-scale", "data-beside", "0 0", "width", "100%", "height", foot+6, "font-size", smallSize, "font-family", drawnFont, "aria-hidden", "true"))
}
