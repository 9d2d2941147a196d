package charts

import (
	"math"
	"rigtally/internal/svg"
	"slices"
)

// side is where a label begins, or ends if it is aligned to the right, in px from its mark.
type side struct {
	align      string
	across, up float64
}

// crossed tells whether the intervals of points lie both ways.
func (f Field) crossed(l Layer) bool {
	return len(f.Y.Rows) == 0 && slices.ContainsFunc(l.Marks, func(m Mark) bool { return m.Across != nil })
}

// sides gives each name of marks that are crossed a place where no other mark and no
// name before it is, and within the field, as far as a phone has room.
func sides(f Field, l Layer) map[string]side {
	list := map[string]side{}
	if !f.crossed(l) {
		return list
	}
	type box struct{ left, right, top, foot float64 }
	var taken []box
	at := func(m Mark) (x, y float64) { return phone * f.X.at(m.X), f.Height * (1 - f.Y.at(m.Y)) }
	for _, m := range l.Marks {
		x, y := at(m)
		taken = append(taken, box{x - 8, x + 8, y - 8, y + 8})
	}
	for _, m := range l.Marks {
		x, y := at(m)
		room := svg.Width(m.Label, textSize)
		right, left := math.Min(9, phone+8-room-x), math.Max(-9, room-x-30)
		least := math.Inf(1)
		var kept box
		for _, s := range []side{{"left", right, -12}, {"right", left, -12}, {"left", right, 13}, {"right", left, 13}} {
			b := box{x + s.across, x + s.across + room, y + s.up - 8, y + s.up + 8}
			if s.align == "right" {
				b.left, b.right = b.left-room, b.right-room
			}
			cost := math.Abs(math.Abs(s.across) - 9)
			for _, o := range taken {
				if b.left < o.right && o.left < b.right && b.top < o.foot && o.top < b.foot {
					cost += 1000
				}
			}
			if cost < least {
				list[m.Name], least, kept = s, cost, b
			}
		}
		taken = append(taken, kept)
	}
	return list
}

// besideLevel tells where the name of an upright line at a part of the width has room.
func besideLevel(at float64, name string) string {
	wide := svg.Width(name, smallSize) / phone
	switch {
	case at < 0.5 && at+wide < 1.05:
		return "left"
	case at >= 0.5 && at-wide > -0.05:
		return "right"
	}
	return "center"
}

// anchors are the words of SVG for how text is aligned.
var anchors = map[string]string{"left": "start", "right": "end", "center": "middle"}
