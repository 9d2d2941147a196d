package drawing

import (
	"math"
	"strconv"

	"rigtally/internal/units"
)

// most bars of a tag budget that are drawn; the sentence beside it counts all.
const mostBars = 8

// Tags draws a tag to scale as it is now and after each fly change, against the
// least useful length. Lengths are in mm, the present one first.
func Tags(lengths []float64, least float64, title string, o Options) string {
	const left, row, longest = 2.0, 22.0, 250.0
	more := len(lengths) - mostBars
	shown := lengths[:min(len(lengths), mostBars)]
	top := least
	for _, mm := range lengths {
		top = math.Max(top, mm)
	}
	c := &canvas{}
	scale := longest / top
	height := row*float64(len(shown)) + 30
	c.open("rig-tags", width, height, title, title, o.ID)
	c.Put("<g class=\"rig-near\" data-px-per-mm=\"%v\">\n", strconv.FormatFloat(scale, 'g', -1, 64))
	for i, mm := range shown {
		y := 12 + row*float64(i)
		end := left + mm*scale
		c.measured(tagLook, mm, point{left, y}, point{end, y})
		c.circle(bodyLook, point{end, y}, 3.5)
		text := units.FormatLength(mm, o.Units)
		switch {
		case i == 0:
			text += ", now"
		case more > 0 && i == len(shown)-1:
			text += ", and " + strconv.Itoa(more) + " more"
		}
		c.text("rig-note", "start", noteSize, point{end + 9, y + 4.5}, text)
	}
	x := left + least*scale
	c.path(unknownLook, point{x, 0}, point{x, height - 20})
	c.text("rig-note", "middle", noteSize, point{math.Max(x, 40), height - 6}, "least useful "+units.FormatLength(least, o.Units))
	c.Put("</g>\n</svg>")
	return c.String()
}
