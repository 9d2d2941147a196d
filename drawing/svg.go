package drawing

import (
	"math"
	"strconv"
	"strings"

	"rigtally/internal/svg"
)

// canvas writes SVG. Looks are classes for the page's style sheet; attributes
// stand in for them, so that a picture on its own is still one.
type canvas struct{ svg.Writer }

// look is how a shape is drawn where no style sheet says otherwise.
type look struct{ class, attributes string }

var (
	lineLook    = look{"rig-line", `fill="none" stroke="currentColor" stroke-width="2" stroke-linecap="round"`}
	buttLook    = look{"rig-butt", `fill="none" stroke="currentColor" stroke-width="3" stroke-linecap="round"`}
	sightLook   = look{"rig-sighter", `fill="none" stroke="currentColor" stroke-width="4"`}
	sightGap    = look{"rig-sighter-2", `fill="none" stroke="#fff" stroke-width="2" stroke-dasharray="7 7"`}
	tagLook     = look{"rig-tag", `fill="none" stroke="currentColor" stroke-width="2" stroke-linecap="round"`}
	unknownLook = look{"rig-unknown", `fill="none" stroke="currentColor" stroke-width="1.5" stroke-dasharray="5 5"`}
	measureLook = look{"rig-measure", `fill="none" stroke="currentColor" stroke-width="1"`}
	pointerLook = look{"rig-pointer", `fill="none" stroke="currentColor" stroke-width="0.75" stroke-dasharray="1 4" stroke-linecap="round"`}
	knotLook    = look{"rig-knot", `fill="none" stroke="currentColor" stroke-width="1.75" stroke-linecap="round"`}
	hookLook    = look{"rig-hook", `fill="none" stroke="currentColor" stroke-width="1.5" stroke-linecap="round"`}
	bodyLook    = look{"rig-body", `fill="currentColor" stroke="none"`}
	beadLook    = look{"rig-bead", `fill="currentColor" stroke="none"`}
	rodLook     = look{"rig-rod", `fill="currentColor" stroke="none"`}
)

func (l look) String() string { return `class="` + l.class + `" ` + l.attributes }

// with adds a class.
func (l look) with(class string) look { l.class += " " + class; return l }

type point struct{ x, y float64 }

// path draws straight lines through points.
func (c *canvas) path(l look, points ...point) {
	c.shape(l, "", points...)
}

// measured draws a line that stands for a length, which it carries for whoever
// wants to check the scale.
func (c *canvas) measured(l look, mm float64, from, to point) {
	c.shape(l, ` data-mm="`+strconv.FormatFloat(mm, 'f', -1, 64)+`"`, from, to)
}

// length draws a line that stands for a length, broken where that was not noted.
func (c *canvas) length(l look, mm float64, known bool, from, to point) {
	if known {
		c.measured(l, mm, from, to)
	} else {
		c.path(unknownLook, from, to)
	}
}

// tag draws the tag of a fly from its junction on, at an angle from straight down the
// picture, and what holds it; along is the way of the line. It returns the tag's end.
func (c *canvas) tag(h hung, at point, angle, along, scale float64) point {
	end := point{at.x + h.tag*scale*math.Sin(angle), at.y + h.tag*scale*math.Cos(angle)}
	if h.tagKnown {
		c.measured(tagLook, h.tag, at, end)
	} else {
		c.path(unknownLook.with("rig-tag"), at, end)
	}
	c.junction(h.RigPosition, at, along)
	c.prop(h.RigPosition, at, angle)
	return end
}

// group begins a group that is turned by an angle from straight down.
func (c *canvas) group(class, kind, value string, at point, angle float64) {
	c.Put("<g class=\"%v\" data-%v=\"%v\" transform=\"translate(%v %v) rotate(%v)\">\n", class, kind, svg.Escape(value), at.x, at.y, -angle*180/math.Pi)
}

func (c *canvas) shape(l look, more string, points ...point) {
	var d strings.Builder
	for i, p := range points {
		d.WriteString(string("ML"[min(i, 1)]) + svg.Num(p.x) + " " + svg.Num(p.y))
	}
	c.Put("<path %v%v d=\"%v\"/>\n", l, more, d.String())
}

func (c *canvas) curve(l look, d string) { c.Put("<path %v d=\"%v\"/>\n", l, d) }

func (c *canvas) circle(l look, at point, r float64) {
	c.Put("<circle %v cx=\"%v\" cy=\"%v\" r=\"%v\"/>\n", l, at.x, at.y, r)
}

// text writes a line of text; anchor is start, middle or end.
func (c *canvas) text(class, anchor string, size float64, at point, s string) {
	weight := ""
	if class == "rig-name" {
		weight = ` font-weight="700"`
	}
	c.Put("<text class=\"%v\" fill=\"currentColor\" font-size=\"%v\"%v text-anchor=\"%v\" x=\"%v\" y=\"%v\">%v</text>\n",
		class, svg.Num(size), weight, anchor, svg.Num(at.x), svg.Num(at.y), svg.Escape(s))
}

// tick is the short slanting stroke at an end of a dimension line.
func (c *canvas) tick(at point) {
	c.path(measureLook, point{at.x - 3, at.y + 3}, point{at.x + 3, at.y - 3})
}

// dimension draws the line of a length, with its ends, along what it measures.
func (c *canvas) dimension(from, to point, mm float64, known bool) {
	c.length(measureLook.with("rig-dimension"), mm, known, from, to)
	c.tick(from)
	c.tick(to)
}
