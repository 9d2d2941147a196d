package drawing

import (
	"math"
	"strings"

	"rigtally/internal/svg"
	"rigtally/journal"
)

// junction draws the knot or hardware that a tag leaves from, larger than it
// is. along is the direction of the line down to the point, as an angle from
// straight down.
func (c *canvas) junction(p journal.RigPosition, at point, along float64) {
	c.group("rig-junction", "junction", string(p.Junction), at, along)
	switch p.Junction {
	case "figure-eight":
		c.circle(knotLook, point{0, -3.4}, 3.2)
		c.circle(knotLook, point{0, 3.4}, 3.2)
	case "double surgeon's":
		c.wraps(2)
	case "triple surgeon's":
		c.wraps(3)
	case "blood":
		c.barrel(5, 8)
	case "uni":
		c.barrel(4, 6)
	case "tippet ring":
		c.circle(knotLook.with("rig-hollow"), point{0, 0}, 4.5)
	case "perfection loop":
		c.curve(knotLook, "M0 -2C4 -9 12 -6 8 0S1 5 0 2")
	case "":
		c.circle(unknownLook, point{0, 0}, 4)
	default:
		c.circle(bodyLook.with("rig-dot"), point{0, 0}, 3.6)
	}
	c.Put("</g>\n")
}

// wraps draws the turns of a surgeon's knot.
func (c *canvas) wraps(n int) {
	var d strings.Builder
	for i := range n {
		y := (float64(i) - float64(n-1)/2) * 5
		d.WriteString(svg.Format("M-4 %vC-4 %v 4 %v 4 %v", y+1.5, y-3.5, y+3.5, y-1.5))
	}
	c.curve(knotLook, d.String())
}

// barrel draws turns side by side, as of a blood knot.
func (c *canvas) barrel(turns int, half float64) {
	var d strings.Builder
	for i := range turns {
		y := -half + 2*half*float64(i)/float64(turns-1)
		d.WriteString(svg.Format("M-3.6 %vL3.6 %v", y+1.2, y-1.2))
	}
	c.curve(knotLook, d.String())
}

// prop draws the hitch that holds a tag off the line, a little way up the tag.
func (c *canvas) prop(p journal.RigPosition, at point, angle float64) {
	if p.Prop == "" || p.Prop == "none" {
		return
	}
	const up = 13
	c.group("rig-prop", "prop", string(p.Prop), point{at.x + up*math.Sin(angle), at.y + up*math.Cos(angle)}, angle)
	if p.Prop == "overhand" {
		c.circle(knotLook, point{0, 0}, 2.8)
	} else {
		c.curve(knotLook, "M-3.5 1.8L3.5 -1.8")
	}
	c.Put("</g>\n")
}

// joint draws what is between sighter and tippet. along is as for a junction.
func (c *canvas) joint(s journal.Swivel, at point, along, size float64) {
	c.Put("<g class=\"rig-joint\" transform=\"translate(%v %v) rotate(%v) scale(%v)\">\n", at.x, at.y, -along*180/math.Pi, size)
	switch s {
	case "tippet ring":
		c.circle(knotLook.with("rig-hollow"), point{0, 0}, 4.2)
	case "micro swivel":
		c.circle(knotLook.with("rig-hollow"), point{0, -6}, 2.4)
		c.circle(knotLook.with("rig-hollow"), point{0, 6}, 2.4)
		c.curve(bodyLook.with("rig-dot"), "M-2.6 -3.6H2.6L3.4 0L2.6 3.6H-2.6L-3.4 0Z")
	case "none":
		c.curve(knotLook, "M-4 0H4")
	default:
		c.curve(unknownLook, "M-5 0H5")
	}
	c.Put("</g>\n")
}
