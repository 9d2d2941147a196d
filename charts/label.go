package charts

import (
	"math"
	"slices"

	"rigtally/internal/svg"
)

// box is where a label stands, in px from the upper left of a drawing on a phone.
type box struct{ left, right, top, foot float64 }

func (b box) meets(o box) bool {
	return b.left < o.right && o.left < b.right && b.top < o.foot && o.top < b.foot
}

// around is the box of a small text at a place in percent across.
func around(x, y float64, anchor string, wide float64) box {
	left := phone*x/100 - map[string]float64{"middle": wide / 2, "end": wide}[anchor]
	return box{left, left + wide, y - 11, y + 3}
}

// place is where a label may stand.
type place struct {
	x, y   float64
	anchor string
}

// beside writes the names of levels and lines where they are least in the way of lines, marks and
// names before them, of the places that each may have: nothing is struck through.
func (p *pen) beside() {
	for _, l := range p.Layers {
		var places []place
		words := l.Says
		switch {
		case l.Shape == Levels && !l.Marks[0].upright():
			words = l.Marks[0].Label
			y := p.y(l.Marks[0].Y)
			places = []place{{100, y - 5, "end"}, {0.5, y - 5, "start"}, {100, y + 14, "end"}, {0.5, y + 14, "start"}, {50, y - 5, "middle"}, {50, y + 14, "middle"}}
			if !math.IsNaN(l.Marks[0].X) {
				places[0], places[1] = places[1], places[0]
			}
		case l.Shape == Line && words != "":
			for i := range l.Marks {
				m := l.Marks[len(l.Marks)-1-i]
				for _, anchor := range []string{"middle", "start", "end"} {
					places = append(places, place{p.x(m.X), p.y(m.Y) - 7, anchor}, place{p.x(m.X), p.y(m.Y) + 16, anchor})
				}
			}
		}
		if words == "" || len(places) == 0 {
			continue
		}
		best, least, kept := places[0], math.Inf(1), box{}
		for _, at := range places {
			b := around(at.x, at.y, at.anchor, svg.Width(words, smallSize))
			if cost := p.inTheWay(b); cost < least {
				best, least, kept = at, cost, b
			}
		}
		p.taken = append(p.taken, kept)
		t := small(best.anchor, 0)
		t.halo = true
		p.text(best.x, best.y, t, words)
	}
}

// inTheWay is how much a label would lie on.
func (p *pen) inTheWay(b box) float64 {
	cost := 0.0
	if b.left < 0 || b.right > phone || b.top < p.Top || b.foot > p.Top+p.Height {
		cost += 1000
	}
	for _, o := range p.taken {
		if b.meets(o) {
			cost += 1000
		}
	}
	for _, l := range p.Layers {
		var px, py float64
		for i, m := range l.Marks {
			x, y := phone*p.x(m.X)/100, p.y(m.Y)
			switch l.Shape {
			case Points:
				if b.meets(box{x - m.Radius, x + m.Radius, y - m.Radius, y + m.Radius}) {
					cost += 100
				}
			case Line:
				for s := 0.1; i > 0 && s <= 1; s += 0.1 {
					at := box{px + (x-px)*s, px + (x-px)*s, py + (y-py)*s, py + (y-py)*s}
					if b.meets(at) {
						cost++
					}
				}
			case Levels:
				if b.top < y && y < b.foot {
					cost += 10
				}
			}
			px, py = x, y
		}
	}
	return cost
}

// side is where a label begins, or ends if it is aligned to the right, in px from its mark.
type side struct {
	align      string
	across, up float64
}

// crossed tells whether the intervals of points lie both ways.
func (f Field) crossed(l Layer) bool {
	return len(f.Y.Rows) == 0 && slices.ContainsFunc(l.Marks, func(m Mark) bool { return m.Across != nil })
}

// sides gives each name of marks that are crossed a place where no mark, no interval and no
// name before it is, and within the field, as far as a phone has room.
func sides(f Field, l Layer) map[string]side {
	list := map[string]side{}
	if !f.crossed(l) {
		return list
	}
	var taken []box
	at := func(m Mark) (x, y float64) { return phone * f.X.at(m.X), f.Height * (1 - f.Y.at(m.Y)) }
	for _, m := range l.Marks {
		x, y := at(m)
		taken = append(taken, box{x - 8, x + 8, y - 8, y + 8})
		if s := m.Across; s != nil {
			taken = append(taken, box{phone * f.X.at(s.Low), phone * f.X.at(s.High), y - 1, y + 1})
		}
		if s := m.Upright; s != nil {
			taken = append(taken, box{x - 1, x + 1, f.Height * (1 - f.Y.at(s.High)), f.Height * (1 - f.Y.at(s.Low))})
		}
	}
	for _, m := range l.Marks {
		x, y := at(m)
		room := svg.Width(m.Label, textSize)
		right, left := math.Min(9, phone+8-room-x), math.Max(-9, room-x-30)
		least := math.Inf(1)
		var kept box
		for _, s := range []side{{"left", right, -12}, {"right", left, -12}, {"left", right, 13}, {"right", left, 13}, {"left", right, -28}, {"right", left, -28}, {"left", right, 29}, {"right", left, 29}} {
			b := box{x + s.across, x + s.across + room, y + s.up - 8, y + s.up + 8}
			if s.align == "right" {
				b.left, b.right = b.left-room, b.right-room
			}
			cost := math.Abs(math.Abs(s.across)-9) + math.Abs(s.up)
			for _, o := range taken {
				if b.meets(o) {
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
