package drawing

import (
	"rigtally/internal/units"
)

// scaleBar is a round length to draw as a scale, at most so long.
func scaleBar(pxPerMM, most float64, sys units.System) (mm float64) {
	lengths := []float64{5000, 2000, 1000, 500, 200, 100, 50, 20, 10}
	if sys == units.US {
		lengths = []float64{3048, 1828.8, 914.4, 609.6, 304.8, 152.4, 76.2, 50.8, 25.4}
	}
	for _, mm = range lengths {
		if mm*pxPerMM <= most {
			return mm
		}
	}
	return mm
}

// bar draws a scale with its length behind it. at is its left end.
func (c *canvas) bar(at point, pxPerMM, most float64, sys units.System) {
	mm := scaleBar(pxPerMM, most, sys)
	end := point{at.x + mm*pxPerMM, at.y}
	c.path(measureLook, point{at.x, at.y - 4}, point{at.x, at.y + 4})
	c.measured(measureLook.with("rig-scale"), mm, at, end)
	c.path(measureLook, point{end.x, at.y - 4}, point{end.x, at.y + 4})
	c.text("rig-note", "start", noteSize, point{end.x + 6, at.y + 4.5}, units.FormatLength(mm, sys))
}
