package drawing

import (
	"math"
	"strconv"

	"rigtally/internal/units"
)

// Choice draws tags of some lengths in mm to scale, as they stand off the leader, over a rule that is marked
// at every inch or every two centimetres. The second and later ones are fainter: they are what else it may be.
func Choice(lengths []float64, o Options) string {
	const (
		wide, left, row  = 360.0, 10.0, 26.0
		shortest, margin = 254.0, 20.0 // the rule is at least ten inches
	)
	longest, step, every, unit := shortest, 25.4, 2, 1.0
	if o.Units != units.US {
		step, every, unit = 20, 2, 20
	}
	for _, mm := range lengths {
		longest = math.Max(longest, mm)
	}
	scale := (wide - left - margin) / longest
	base := row*float64(len(lengths)) + 12
	words := "Drawn to scale:"
	for i, mm := range lengths {
		if i > 0 {
			words += " or"
		}
		words += " a tag of " + units.FormatLength(mm, o.Units)
	}
	c := &canvas{}
	c.open("tag-choice", wide, base+24, "The tag, to scale", words+".", o.ID)
	c.path(buttLook, point{left, 2}, point{left, base})
	for i, mm := range lengths {
		y := 14 + row*float64(i)
		if i > 0 {
			c.Put("<g opacity=\"0.55\">\n")
		}
		end := point{left + mm*scale, y}
		c.circle(bodyLook.with("tag-knot"), point{left, y}, 4)
		c.measured(tagLook.with("tag-line"), mm, point{left, y}, end)
		c.circle(bodyLook.with("tag-fly"), end, 6)
		if i > 0 {
			c.Put("</g>\n")
		}
	}
	c.path(measureLook, point{left, base}, point{left + longest*scale, base})
	for n := 0; float64(n)*step <= longest+0.1; n++ {
		x, high := left+float64(n)*step*scale, 4.0
		if n%every == 0 {
			high = 7
			text := strconv.Itoa(int(float64(n) * unit))
			if n == 0 {
				text = "0"
			} else if float64(n+every)*step > longest+0.1 {
				text += map[bool]string{true: " in", false: " mm"}[o.Units == units.US]
			}
			c.text("rig-note", "middle", 12, point{x, base + 20}, text)
		}
		c.path(measureLook, point{x, base}, point{x, base + high})
	}
	c.Put("</svg>")
	return c.String()
}
