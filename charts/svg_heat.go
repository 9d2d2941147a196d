package charts

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"rigtally/internal/svg"
)

// heatAt is the color of a place on the scale: on the way from one of heat-1 to heat-5 to the next.
func heatAt(heat float64) (from int, part float64) {
	place := 4 * math.Min(math.Max(heat, 0), 1)
	first := math.Min(math.Floor(place), 3)
	return int(first) + 1, place - first
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

// squareRoom is the side of the square of what was fished most, in px.
const squareRoom = 34

// cell is a square, its color the value and its area what was fished, with the number below it, or
// beside it in low rows. Its color is painted in layers, since not every program that draws SVG can
// mix them.
func (p *pen) cell(m Mark) {
	columns := float64(len(p.X.Rows))
	width, height := 100/columns, p.Height/float64(len(p.Y.Rows))
	x, top := 100*p.X.at(m.X), p.y(m.Y)-height/2
	p.Element("rect", "", "class", "ground", "x", svg.Percent(x-width/2), "y", top, "width", svg.Percent(width), "height", height, "fill", "none", "pointer-events", "all")
	low := height < cellHeight-1
	most := math.Min(squareRoom, phone*0.8/columns-4)
	words, y := text{anchor: "middle", colour: "ink", weight: 600, size: cellSize(len(p.X.Rows)), roomy: 238/columns < 30}, top+squareRoom+16
	if low {
		most = math.Min(most, height-4)
		words.anchor, words.dx, y = "start", most/2+4, top+height/2+4
	}
	side := math.Max(5, most*math.Sqrt(m.Share))
	square := func(colour string, opacity float64, more ...any) string {
		return svg.Element("rect", "", append([]any{"x", -side / 2, "y", -side / 2, "width", side, "height", side, "fill", paint(colour), "fill-opacity", opacity}, more...)...)
	}
	drawn := ""
	switch {
	case math.IsNaN(m.Heat):
		drawn = square("none", 1, "stroke", paint("edge"), "stroke-dasharray", "1.5 2.5")
	case m.Few:
		from, _ := heatAt(m.Heat)
		drawn = square("none", 1, "stroke", paint(fmt.Sprintf("heat-%d", from+1)), "stroke-width", 2.5, "stroke-dasharray", "1.5 2.5")
	default:
		from, part := heatAt(m.Heat)
		drawn = square(fmt.Sprintf("heat-%d", from), 1)
		if part > 0 {
			drawn += square(fmt.Sprintf("heat-%d", from+1), part)
		}
	}
	middle := top + 2 + squareRoom/2
	if low {
		middle = top + height/2
	}
	p.at(x, middle, drawn)
	p.text(x, y, words, m.Label+verdictSign(m.Look))
}

// verdictSign is written after the number of a cell; one that is open has none.
func verdictSign(look string) string {
	return map[string]string{LookReference: " ◆", LookDiffers: " ●", LookLeans: " ○"}[look]
}

// Legend is the scale of a heat map: colors to the right, and below what the sizes mean.
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
	w.Element("rect", "", "x", left, "y", top, "width", width, "height", step, "fill", "url(#heat)")
	foot := top + step + 16
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
	x := left
	for _, share := range []float64{0.06, 0.3, 1} {
		side := 22 * math.Sqrt(share)
		w.Element("rect", "", "x", x, "y", foot+20-side/2, "width", side, "height", side, "fill", paint("edge"))
		x += side + 6
	}
	write(x+2, foot+24, small("start", 0), c.Scale.Sizes)
	return template.HTML(svg.Element("svg", w.String(), "class", "drawn drawn-scale", "data-beside", "0 0", "width", "100%", "height", foot+36, "font-size", smallSize, "font-family", drawnFont, "aria-hidden", "true"))
}
