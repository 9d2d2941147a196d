package drawing

import (
	"math"
	"reflect"
	"strconv"

	"rigtally/internal/svg"
	"rigtally/internal/units"
	"rigtally/journal"
)

// Where things stand in the picture of a dropper, in units of its view box.
const (
	changeWidth = 220.0
	changeTag   = 72.0 // the longer of two tags
	changeX     = 104.0
	changeY     = 20.0
	changeFly   = 36.0 // room below a tag's end
)

// Change draws the dropper in which two rigs differ, before and after, to one scale.
func Change(was, could journal.Rig, o Options) (before, after string) {
	d := &dropperPair{o: o, foot: changeY + changeFly}
	at := differing(was, could)
	longest := 0.0
	var both [2]hung
	for i, rig := range []journal.Rig{was, could} {
		if both[i] = newPlan(rig).dropperAt(at); both[i].onTag() {
			longest = math.Max(longest, both[i].tag)
		}
	}
	if longest > 0 {
		d.scale = changeTag / longest
	}
	d.finer = materialText(both[0].RigPosition) != materialText(both[1].RigPosition)
	for _, h := range both {
		d.foot = math.Max(d.foot, changeY+h.tag*d.scale*math.Sin(h.angle)+changeFly)
	}
	id := o.ID
	for i, to := range []*string{&before, &after} {
		d.o.ID = id + "-" + strconv.Itoa(i)
		*to = d.draw([]journal.Rig{was, could}[i], both[i], []string{"As it was", "As it could be"}[i])
	}
	return before, after
}

// differing is the lowest dropper of which two rigs say something else, or the lowest where none does.
func differing(was, could journal.Rig) int {
	other := could.Droppers()
	for i, p := range was.Droppers() {
		if i < len(other) && !reflect.DeepEqual(p, other[i]) {
			return i
		}
	}
	return 0
}

// dropperAt is a dropper, from the lowest; the point of a rig without any.
func (p *plan) dropperAt(i int) hung {
	var list []hung
	for _, h := range p.hung {
		if h.Position > 0 {
			list = append(list, h)
		}
	}
	if i < len(list) {
		return list[i]
	}
	if len(p.hung) > 0 {
		return p.hung[0]
	}
	return hung{}
}

type dropperPair struct {
	canvas
	o     Options
	finer bool // the two differ in the tippet of the tag
	scale float64
	foot  float64
}

func (d *dropperPair) draw(rig journal.Rig, h hung, title string) string {
	words := hangText(h.RigPosition)
	if h.onTag() {
		words += ", tag " + d.o.length(h.tag, h.tagKnown)
	}
	d.open("rig-change", changeWidth, d.foot, title, words, d.o.ID)
	d.Put("<g class=\"rig-near\" data-px-per-mm=\"%v\">\n", strconv.FormatFloat(d.scale, 'g', -1, 64))
	at := func(x float64) point { return point{x, changeY} }
	d.curve(lineLook, svg.Format("M16 %vl-2.500 5l-4 -10l-2.500 5", changeY)) // there is more above
	d.path(lineLook, at(16), at(changeWidth-14))
	d.curve(lineLook, svg.Format("M%v %vl7 4l-7 4", changeWidth-20, changeY-4)) // on to the point
	if rig.Swivel != "" && rig.Swivel != "none" {
		d.joint(rig.Swivel, at(40), math.Pi/2, 1)
	}
	if h.onTag() {
		b := math.Pi/2 - h.angle // from straight down, since the line lies
		end := d.tag(h, at(changeX), b, math.Pi/2, d.scale)
		d.fly(h.RigPosition, end, b, 0.8)
		middle, anchor := point{(changeX+end.x)/2 - 9, (changeY+end.y)/2 + 14}, "end"
		if h.Facing == "up" {
			middle.x, anchor = middle.x+18, "start"
		}
		text := "?"
		if h.tagKnown {
			text = units.FormatLength(h.tag, d.o.Units)
			if h.TippetMM != nil && d.finer {
				text = units.ExactTippet(*h.TippetMM) + ", " + text
			}
		}
		d.text("rig-note", anchor, noteSize, middle, text)
	} else {
		d.fly(h.RigPosition, at(changeX), math.Pi/2, 0.9)
	}
	d.Put("</g>\n</svg>")
	drawn := d.String()
	d.Reset()
	return drawn
}
