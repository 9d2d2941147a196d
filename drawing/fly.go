package drawing

import (
	"math"
	"strings"

	"rigtally/internal/svg"
	"rigtally/journal"
)

// fly draws a fly with its eye at a point, hanging at an angle from straight
// down. Flies are drawn larger than they are, and larger for larger hooks; a
// bead is in proportion to other beads.
func (c *canvas) fly(p journal.RigPosition, at point, angle, size float64) {
	s := flyLength(p.HookSize) * size
	c.group("rig-fly", "bulk", string(p.Bulk), at, angle)
	c.circle(hookLook, point{0, 1.6 * size}, 1.6*size)
	c.curve(hookLook, svg.Format("M0 %vV%vC0 %v %v %v %v %vV%v", 3.2*size, 0.74*s, 1.04*s, 0.42*s, 1.04*s, 0.42*s, 0.74*s, 0.54*s))
	switch p.Bulk {
	case "slim":
		c.body(s, 0.085)
	case "hackled":
		c.body(s, 0.115)
		c.hackle(s)
	case "legged":
		c.body(s, 0.16)
		c.legs(s)
	default:
		c.curve(unknownLook, bodyPath(s, 0.13))
	}
	if b := positive(p.BeadMM); b != nil {
		r := math.Min(1.3**b, 14) * size
		c.circle(beadLook, point{0, 3*size + r}, r)
	}
	c.Put("</g>\n")
}

// flyLength is how long a fly is drawn. Hooks have no standard, so it only says
// which is larger.
func flyLength(hook *int) float64 {
	if hook == nil {
		return 30
	}
	return math.Max(21, 55-1.55*float64(*hook))
}

func bodyPath(s, w float64) string {
	return svg.Format("M0 %vC%v %v %v %v 0 %vC%v %v %v %v 0 %vZ", 0.16*s, w*s, 0.24*s, w*s, 0.6*s, 0.78*s, -w*s, 0.6*s, -w*s, 0.24*s, 0.16*s)
}

func (c *canvas) body(s, w float64) { c.curve(bodyLook, bodyPath(s, w)) }

// hackle draws fibres that sweep back from behind the eye.
func (c *canvas) hackle(s float64) {
	var d strings.Builder
	for _, degrees := range []float64{18, 36, 55, 76} {
		a := degrees * math.Pi / 180
		x, y := 0.5*s*math.Sin(a), 0.22*s+0.5*s*math.Cos(a)
		for _, side := range []float64{-1, 1} {
			d.WriteString(svg.Format("M0 %vQ%v %v %v %v", 0.2*s, side*0.6*x, 0.22*s, side*x, y))
		}
	}
	c.curve(hookLook.with("rig-hackle"), d.String())
}

// legs draws three pairs of long legs with a bend.
func (c *canvas) legs(s float64) {
	var d strings.Builder
	for i, from := range []float64{0.24, 0.38, 0.54} {
		reach, drop := 0.62-0.06*float64(i), 0.1+0.22*float64(i)
		for _, side := range []float64{-1, 1} {
			d.WriteString(svg.Format("M0 %vL%v %vL%v %v", from*s, side*0.34*s, (from-0.1+drop/2)*s, side*reach*s, (from+drop)*s))
		}
	}
	c.curve(hookLook.with("rig-legs"), d.String())
}
