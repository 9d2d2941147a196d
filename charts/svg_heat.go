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
		return svg.Fill("color-mix(in srgb, %v, %v %v%%)", a, b, 100*part)
	}
	return mix(mix(heat(s.from), heat(s.from+1), s.part), paint("heat-none"), s.fade)
}

// onHeat is the colour of words on a cell: ink on what is pale in both schemes, paper
// on what is deep, and between them the one that a scheme says.
func onHeat(heat float64, fade int) string {
	ends := [][2]float64{{0.33, 0.57}, {0.54, 0.94}, {2, 2}, {2, 2}}[fade]
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
	p.Put(`<rect x="%v%%" y="%v" width="%v%%" height="%v" fill="none" stroke="%v" stroke-width="2"/>`, left, top, width, height, paint("paper"))
	ink := onHeat(m.Heat, m.Fade)
	bar := left + width*0.08
	p.rect(bar, bar+math.Max(0.3, width*0.84*m.Share), top+height-8, top+height-5, ink, 0.65)
	narrow := 238/float64(columns) < 30
	p.text(x, y+1, text{anchor: "middle", colour: ink, bold: m.Fade < 2, size: cellSize(columns), roomy: narrow}, m.Label+verdictSign(m.Look))
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
	var b strings.Builder
	write := func(x, y float64, anchor, colour, weight, words string) {
		fmt.Fprintf(&b, `<text x="%s" y="%s" text-anchor="%s" fill="%s" font-weight="%s">%s</text>`, svg.Num(x), svg.Num(y), anchor, paint(colour), weight, svg.Escape(words))
	}
	height := top + step*float64(len(c.Scale.Fades)) + 22
	fmt.Fprintf(&b, `<svg class="drawn drawn-scale" width="100%%" height="%s" font-size="%s" font-family="%s" aria-hidden="true"><linearGradient id="heat">`, svg.Num(height), svg.Num(smallSize), svg.Escape(drawnFont))
	for i := range 5 {
		fmt.Fprintf(&b, `<stop offset="%d%%" stop-color="%s"/>`, 25*i, paint(fmt.Sprintf("heat-%d", i+1)))
	}
	b.WriteString(`</linearGradient>`)
	write(left, top-8, "start", "ink", "600", c.Scale.Title)
	for i, words := range c.Scale.Fades {
		y := top + step*float64(i)
		place := svg.Fill(`x="%v" y="%v" width="%v" height="%v"`, left, y, width, step-1)
		fmt.Fprintf(&b, `<rect %s fill="url(#heat)"/><rect %s fill="%s" fill-opacity="%s"/>`, place, place, paint("heat-none"), svg.Num(fading[i]))
		write(left+width+8, y+11, "start", "quiet", "400", words)
	}
	free := left // what lies between the ends is written where there is room
	last := len(c.Scale.Ticks) - 1
	for i, t := range c.Scale.Ticks {
		x, half := left+width*t.At, svg.Width(t.Text, smallSize)/2
		anchor := "middle"
		switch {
		case i == 0:
			anchor, x, half = "start", left, 2*half
		case i == last:
			anchor = "end"
		case x-half < free || x+half > left+width-svg.Width(c.Scale.Ticks[last].Text, smallSize)-8:
			continue
		}
		free = x + half + 8
		write(x, height-6, anchor, "quiet", "400", t.Text)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}
