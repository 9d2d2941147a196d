package drawing

import (
	"fmt"
	"strconv"
	"strings"

	"rigtally/internal/svg"
)

// canvas writes SVG. Looks are classes for the page's style sheet; attributes
// stand in for them, so that a picture on its own is still one.
type canvas struct{ out strings.Builder }

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

func (c *canvas) raw(format string, args ...any) { fmt.Fprintf(&c.out, format, args...) }

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

func (c *canvas) shape(l look, more string, points ...point) {
	var d strings.Builder
	for i, p := range points {
		d.WriteString(string("ML"[min(i, 1)]) + svg.Num(p.x) + " " + svg.Num(p.y))
	}
	c.raw("<path %s%s d=\"%s\"/>\n", l, more, d.String())
}

func (c *canvas) curve(l look, d string) { c.raw("<path %s d=\"%s\"/>\n", l, d) }

func (c *canvas) circle(l look, at point, r float64) {
	c.raw("<circle %s cx=\"%s\" cy=\"%s\" r=\"%s\"/>\n", l, svg.Num(at.x), svg.Num(at.y), svg.Num(r))
}

// text writes a line of text; anchor is start, middle or end.
func (c *canvas) text(class, anchor string, size float64, at point, s string) {
	weight := ""
	if class == "rig-name" {
		weight = ` font-weight="700"`
	}
	c.raw("<text class=\"%s\" fill=\"currentColor\" font-size=\"%s\"%s text-anchor=\"%s\" x=\"%s\" y=\"%s\">%s</text>\n",
		class, svg.Num(size), weight, anchor, svg.Num(at.x), svg.Num(at.y), svg.Escape(s))
}

// tick is the short slanting stroke at an end of a dimension line.
func (c *canvas) tick(at point) {
	c.path(measureLook, point{at.x - 3, at.y + 3}, point{at.x + 3, at.y - 3})
}

// dimension draws the line of a length, with its ends, along what it measures.
func (c *canvas) dimension(from, to point, mm float64, known bool) {
	l := measureLook.with("rig-dimension")
	if known {
		c.measured(l, mm, from, to)
	} else {
		c.path(unknownLook, from, to)
	}
	c.tick(from)
	c.tick(to)
}
